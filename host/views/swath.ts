/**
 * The swath profile: how high a pass would leave the grass across the machine, by geometry alone. Over every lateral place
 * the lowest point of a blade circle cuts last. Lift of the air, speed and bending grass are not in it.
 */
import type { MachineProfile } from '../machines/profile';
import type { Solution } from '../../protocol/solver';

export interface SwathPoint {
  /** From the machine's middle line, positive to the left. */
  readonly yMm: number;
  /** Stubble above the ground of the wheels. */
  readonly heightMm: number;
  /** Whose blade cuts it. */
  readonly spindle: string;
}

/** Where a blade's circle ends inside the swath: how much lower it cuts there than the blade that takes over; 0 if it does not show. */
export interface SwathStep {
  readonly yMm: number;
  readonly of: string;
  readonly mm: number;
}

export interface Swath {
  /** Computed from the blade circles; nothing was mown. */
  readonly geometric: true;
  readonly widthMm: number;
  /** From right to left. */
  readonly points: readonly SwathPoint[];
  readonly meanMm: number;
  /** Root mean square of the points about their mean. */
  readonly rmsMm: number;
  readonly steps: readonly SwathStep[];
  /** Where the next pass overlaps this one: mown the same way, and coming back. Undefined without an overlap in the profile. */
  readonly betweenPasses:
    { readonly overlapMm: number; readonly sameWayMm: number; readonly returningMm: number } | undefined;
}

/** A blade's tip circle in space: height at its middle, rise per mm forward and to the left. */
interface Circle {
  readonly name: string;
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  readonly heightMm: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/** Distance between the points of a profile. */
const SPACING_MM = 5;

/** Undefined when the readings do not determine the deck's plane. Spindles whose own height or tilt was not found count as true. */
export function swathOf(
  profile: MachineProfile,
  { pose, spindles }: Pick<Solution, 'pose' | 'spindles'>,
): Swath | undefined {
  if (pose === 'not determined') return undefined;
  const circles = profile.spindles.map((spindle, k): Circle => {
    const found = spindles[k];
    const value = (quantity: 'heightMm' | 'tiltXRad' | 'tiltYRad' | 'bendMm') =>
      found?.[quantity].determined === true ? found[quantity].value : 0;
    const plane = pose.z0Mm + pose.slopeX * spindle.xMm + pose.slopeY * spindle.yMm;
    return {
      name: spindle.name,
      xMm: spindle.xMm,
      yMm: spindle.yMm,
      radiusMm: spindle.tipRadiusMm,
      // The lower end of a bent blade cuts last.
      heightMm: plane + value('heightMm') + (spindle.stackedOn?.aboveMm ?? 0) - Math.abs(value('bendMm')) / 2,
      slopeX: pose.slopeX + value('tiltXRad'),
      slopeY: pose.slopeY + value('tiltYRad'),
    };
  });
  return profileOf(circles, profile.passOverlapMm);
}

function profileOf(circles: readonly Circle[], overlapMm: number | undefined): Swath {
  const rightMm = Math.min(...circles.map((c) => c.yMm - c.radiusMm));
  const leftMm = Math.max(...circles.map((c) => c.yMm + c.radiusMm));
  const spaces = Math.ceil((leftMm - rightMm) / SPACING_MM);
  const points = Array.from({ length: spaces + 1 }, (_, i) =>
    lowestAt(circles, rightMm + (i * (leftMm - rightMm)) / spaces),
  ).filter((point) => point !== undefined);
  const meanMm = points.reduce((sum, p) => sum + p.heightMm, 0) / points.length;
  const square = points.reduce((sum, p) => sum + (p.heightMm - meanMm) ** 2, 0) / points.length;
  return {
    geometric: true,
    widthMm: leftMm - rightMm,
    points,
    meanMm,
    rmsMm: Math.sqrt(square),
    steps: circles
      .flatMap((c) => [c.yMm - c.radiusMm, c.yMm + c.radiusMm].map((yMm) => stepAt(circles, c, yMm)))
      .filter((step) => step !== undefined)
      .sort((a, b) => a.yMm - b.yMm),
    betweenPasses: overlapMm === undefined ? undefined : passes(circles, rightMm, leftMm, overlapMm),
  };
}

/** Of the places over one y it is an end of the chord that is lowest, since the circle lies in a plane. */
function heightAt(circle: Circle, yMm: number): number | undefined {
  const square = circle.radiusMm ** 2 - (yMm - circle.yMm) ** 2;
  if (square < -1e-6) return undefined;
  const chord = Math.sqrt(Math.max(0, square));
  return circle.heightMm + circle.slopeY * (yMm - circle.yMm) - Math.abs(circle.slopeX) * chord;
}

function lowestAt(circles: readonly Circle[], yMm: number): SwathPoint | undefined {
  let lowest: SwathPoint | undefined;
  for (const circle of circles) {
    const heightMm = heightAt(circle, yMm);
    if (heightMm !== undefined && (lowest === undefined || heightMm < lowest.heightMm))
      lowest = { yMm, heightMm, spindle: circle.name };
  }
  return lowest;
}

function stepAt(circles: readonly Circle[], ending: Circle, yMm: number): SwathStep | undefined {
  const other = lowestAt(
    circles.filter((c) => c !== ending),
    yMm,
  );
  const own = heightAt(ending, yMm);
  if (other === undefined || own === undefined) return undefined;
  return { yMm, of: ending.name, mm: Math.max(0, other.heightMm - own) };
}

/** The greatest step where two passes overlap: at the edge of one, against what the other left there. */
function passes(circles: readonly Circle[], rightMm: number, leftMm: number, overlapMm: number) {
  const at = (yMm: number) => lowestAt(circles, yMm)?.heightMm ?? NaN;
  const step = (edgeMm: number, insideMm: number) => Math.max(0, at(insideMm) - at(edgeMm));
  return {
    overlapMm,
    // The right edge of one pass lies inside the left edge of the other, and the other way round.
    sameWayMm: Math.max(step(rightMm, leftMm - overlapMm), step(leftMm, rightMm + overlapMm)),
    returningMm: Math.max(step(leftMm, leftMm - overlapMm), step(rightMm, rightMm + overlapMm)),
  };
}
