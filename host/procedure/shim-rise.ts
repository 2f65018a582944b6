/** How much higher the wheels' ground plane lies at a tip for a shim under one wheel. */
import { groundWeights } from '../../protocol/solver';
import { layoutOf } from './assess';
import type { JobState, TipTarget } from './state';

/** 0 without a shim. The plane takes a share of the shim that depends on the place, by the family's ground plane. */
export function shimRiseMm(
  { profile, shim }: Pick<JobState, 'profile' | 'shim'>,
  { spindle, headingDeg }: Pick<TipTarget, 'spindle' | 'headingDeg'>,
): number {
  if (shim === undefined || shim === 'none') return 0;
  const at = profile.spindles.find((s) => s.name === spindle);
  const wheel = profile.wheels.findIndex((w) => w.name === shim.wheel);
  if (at === undefined || wheel < 0) return 0;
  const { at0, perX, perY } = groundWeights(layoutOf(profile));
  const heading = (headingDeg * Math.PI) / 180;
  const xMm = at.xMm + at.tipRadiusMm * Math.cos(heading);
  const yMm = at.yMm + at.tipRadiusMm * Math.sin(heading);
  return ((at0[wheel] ?? 0) + (perX[wheel] ?? 0) * xMm + (perY[wheel] ?? 0) * yMm) * shim.heightMm;
}
