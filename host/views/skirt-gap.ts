/** The gap under the shell's lower edge, by side: where make-up air comes in. From the deck's plane and the profile's outline. */
import type { MachineProfile } from '../machines/profile';

type Side = NonNullable<MachineProfile['skirt']>[number]['side'];

export interface SideGap {
  readonly side: Side;
  /** From one end of the edge to the other. */
  readonly points: readonly { readonly xMm: number; readonly yMm: number; readonly gapMm: number }[];
  readonly leastMm: number;
  readonly greatestMm: number;
  readonly lengthMm: number;
  /** Open area between edge and ground. */
  readonly areaMm2: number;
}

export interface SkirtGap {
  readonly sides: readonly SideGap[];
  /** Greatest less least gap over rear and sides. */
  readonly unevenMm: number;
  /** Open area of rear and sides together. */
  readonly airAreaMm2: number;
}

interface Plane {
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/** Undefined when the profile has no outline or the plane is not determined. Straight edges on a plane: extremes lie at their ends. */
export function skirtGapOf(profile: MachineProfile, plane: Plane | undefined): SkirtGap | undefined {
  const { skirt } = profile;
  if (skirt === undefined || plane === undefined) return undefined;
  const sides = skirt.map(({ side, points }): SideGap => {
    const gaps = points.map((p) => plane.z0Mm + plane.slopeX * p.xMm + plane.slopeY * p.yMm + p.aboveTipsMm);
    let lengthMm = 0;
    let areaMm2 = 0;
    for (let i = 1; i < points.length; i++) {
      const [a, b] = [points[i - 1], points[i]];
      if (a === undefined || b === undefined) continue;
      const piece = Math.hypot(b.xMm - a.xMm, b.yMm - a.yMm);
      lengthMm += piece;
      areaMm2 += (piece * ((gaps[i - 1] ?? 0) + (gaps[i] ?? 0))) / 2;
    }
    return {
      side,
      points: points.map(({ xMm, yMm }, i) => ({ xMm, yMm, gapMm: gaps[i] ?? NaN })),
      leastMm: Math.min(...gaps),
      greatestMm: Math.max(...gaps),
      lengthMm,
      areaMm2,
    };
  });
  const airy = sides.filter((s) => s.side !== 'front');
  const greatest = Math.max(...airy.map((s) => s.greatestMm));
  return {
    sides,
    unevenMm: airy.length === 0 ? 0 : greatest - Math.min(...airy.map((s) => s.leastMm)),
    airAreaMm2: airy.reduce((sum, s) => sum + s.areaMm2, 0),
  };
}
