import type { MachineProfile } from '../machines/profile';
import { heightAt, type Plane } from './plane';
import type { Fault, Population } from './population';
import type { Random } from './random';

/**
 * The two ends of a blade. The technician marks one with paint before the first reading: that is A, the other is B.
 * "Heading of an end" is the direction from the hub to that end, counter-clockwise from forward.
 */
export type BladeEnd = 'A' | 'B';

/** A spindle with its blade as they really are. */
export interface Blade {
  readonly name: string;
  readonly xMm: number;
  readonly yMm: number;
  readonly tipRadiusMm: number;
  /** Height of the hub against the shell. */
  hubHeightMm: number;
  /** Tilt of the axis against the shell: rise of the blade's circle per mm forward and per mm to the left. */
  tiltX: number;
  tiltY: number;
  /** Half the height of end A above end B that belongs to the blade; it goes along when the blade is refitted. */
  bladeBendMm: number;
  /** The same from a bent shaft or dirty hub face; it stays with the shaft and turns with it. */
  shaftBendMm: number;
  /** How far the tip can be pushed up and pulled down by hand. */
  readonly playMm: number;
  /** Heading of end A. */
  headingDeg: number;
  /** Refitted half a turn round on its shaft. */
  refitted: boolean;
}

export function createBlades(
  profile: MachineProfile,
  random: Random,
  population: Population,
  faults: readonly Fault[],
): readonly Blade[] {
  for (const fault of faults) {
    if (!profile.spindles.some((spindle) => spindle.name === fault.spindle)) {
      throw new Error(`the machine has no spindle ${fault.spindle}`);
    }
  }
  const blades = profile.spindles.map((spindle): Blade => {
    const blade: Blade = {
      name: spindle.name,
      xMm: spindle.xMm,
      yMm: spindle.yMm,
      tipRadiusMm: spindle.tipRadiusMm,
      hubHeightMm: random.normal(population.spindleHeightSdMm) + (spindle.stackedOn?.aboveMm ?? 0),
      tiltX: random.normal(population.spindleTiltSd),
      tiltY: random.normal(population.spindleTiltSd),
      bladeBendMm: random.normal(population.bendSdMm),
      shaftBendMm: 0,
      playMm: population.playMm,
      headingDeg: random.between(-180, 180),
      refitted: false,
    };
    for (const fault of faults) if (fault.spindle === spindle.name) putIn(fault, blade);
    return blade;
  });
  for (const [i, blade] of blades.entries()) blade.headingDeg = coupledHeadingDeg(profile, blades, i);
  return blades;
}

/** Heading that belt, gears or the bolt of a cross give a blade from the one that it is coupled to; its own where there is none. */
function coupledHeadingDeg(profile: MachineProfile, blades: readonly Blade[], index: number): number {
  const spindle = profile.spindles[index];
  const lower = profile.spindles.findIndex((s) => s.name === spindle.stackedOn?.spindle);
  if (lower >= 0) return shortWayDeg(0, blades[lower].headingDeg + 90);
  const first = profile.spindles[0];
  if (profile.timedDeck !== true || spindle === first) return blades[index].headingDeg;
  const crankDeg = blades[0].headingDeg - (first.timedOffsetDeg ?? 0);
  const along = spindle.rotation === first.rotation ? 1 : -1;
  return shortWayDeg(0, (spindle.timedOffsetDeg ?? 0) + along * crankDeg);
}

/** Turns the blades that are coupled to blade `index`, which has just been turned by this angle. */
export function turnCoupled(
  profile: MachineProfile,
  blades: readonly Blade[],
  index: number,
  byDeg: number,
): void {
  const { name, rotation, stackedOn } = profile.spindles[index];
  for (const [i, other] of profile.spindles.entries()) {
    const cross = other.stackedOn?.spindle === name || stackedOn?.spindle === other.name;
    if (i === index || !(cross || profile.timedDeck === true)) continue;
    const along = other.rotation === rotation ? 1 : -1;
    blades[i].headingDeg = shortWayDeg(0, blades[i].headingDeg + along * byDeg);
  }
}

/** Half the height of end A above end B as the blade is fitted now. */
export const halfBendMm = (blade: Blade): number =>
  blade.bladeBendMm + (blade.refitted ? -blade.shaftBendMm : blade.shaftBendMm);

/** Height of the circle of the blade's mean of both ends at a heading, given the plane of the deck. */
export function circleHeightMm(blade: Blade, deck: Plane, headingDeg: number, radiusMm: number): number {
  const heading = (headingDeg * Math.PI) / 180;
  const x = radiusMm * Math.cos(heading);
  const y = radiusMm * Math.sin(heading);
  return heightAt(deck, blade.xMm + x, blade.yMm + y) + blade.hubHeightMm + blade.tiltX * x + blade.tiltY * y;
}

/** The turn from one heading to another, in (-180, 180]. */
export function shortWayDeg(fromDeg: number, toDeg: number): number {
  const angle = (toDeg - fromDeg) % 360;
  return angle > 180 ? angle - 360 : angle <= -180 ? angle + 360 : angle;
}

/** A new part is straight, and stands as the maker drew it. */
export function replacePart(blade: Blade, part: 'blade' | 'shaft or hub' | 'spindle', aboveMm: number): void {
  switch (part) {
    case 'blade':
      blade.bladeBendMm = 0;
      blade.refitted = false;
      break;
    case 'shaft or hub':
      blade.shaftBendMm = 0;
      break;
    case 'spindle':
      Object.assign(blade, { hubHeightMm: aboveMm, tiltX: 0, tiltY: 0, shaftBendMm: 0 });
      break;
  }
}

function putIn(fault: Fault, blade: Blade): void {
  switch (fault.kind) {
    case 'bent blade':
      blade.bladeBendMm += fault.differenceMm / 2;
      break;
    case 'bent shaft':
      blade.shaftBendMm += fault.differenceMm / 2;
      break;
    case 'high spindle':
      blade.hubHeightMm += fault.heightMm;
      break;
    case 'tilted spindle':
      blade.tiltX += fault.slopeX;
      blade.tiltY += fault.slopeY;
      break;
  }
}
