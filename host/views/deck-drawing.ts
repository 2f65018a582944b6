/** The few numbers that the drawings of a deck need beyond the rows: extent, mean of the tips, the plane seen from the side. */
import type { MachineProfile } from '../machines/profile';
import type { StageView, TipRow } from './stage-view';

/** Of blade circles and wheels; frame of the profile. */
export interface Extent {
  readonly rearXMm: number;
  readonly frontXMm: number;
  readonly rightYMm: number;
  readonly leftYMm: number;
}

/** Size that a wheel is drawn with on every face: profiles do not state it. */
export const WHEEL_MM = { length: 260, width: 110 };

export function extentOf(profile: MachineProfile): Extent {
  const circles = profile.spindles.map((s) => ({ x: s.xMm, y: s.yMm, r: s.tipRadiusMm }));
  const all = [...circles, ...profile.wheels.map((w) => ({ x: w.xMm, y: w.yMm, r: 0 }))];
  return {
    rearXMm: Math.min(...all.map((c) => c.x - c.r)),
    frontXMm: Math.max(...all.map((c) => c.x + c.r)),
    rightYMm: Math.min(...all.map((c) => c.y - c.r)),
    leftYMm: Math.max(...all.map((c) => c.y + c.r)),
  };
}

/** Mean height of the tips that were read. Undefined when there are none. */
export function meanTipHeightMm(tips: readonly TipRow[]): number | undefined {
  return tips.length === 0 ? undefined : tips.reduce((sum, t) => sum + t.heightMm, 0) / tips.length;
}

/** The deck's plane over the machine's middle line, from the rearmost to the foremost point of the blade circles. */
export interface SideLine {
  readonly rearXMm: number;
  readonly rearHeightMm: number;
  readonly frontXMm: number;
  readonly frontHeightMm: number;
}

/** Undefined when the readings do not determine the plane. */
export function sideLine(profile: MachineProfile, stage: StageView): SideLine | undefined {
  const { plane } = stage;
  if (plane === undefined) return undefined;
  const rearXMm = Math.min(...profile.spindles.map((s) => s.xMm - s.tipRadiusMm));
  const frontXMm = Math.max(...profile.spindles.map((s) => s.xMm + s.tipRadiusMm));
  const heightAt = (xMm: number) => plane.z0Mm + plane.slopeX * xMm;
  return { rearXMm, rearHeightMm: heightAt(rearXMm), frontXMm, frontHeightMm: heightAt(frontXMm) };
}

/** The tips read farthest to the front or to the rear: more than one where they lie within 1 mm of each other. */
export function outermostTips(tips: readonly TipRow[], end: 'front' | 'rear'): TipRow[] {
  const sign = end === 'front' ? 1 : -1;
  const farthest = Math.max(...tips.map((t) => sign * t.xMm));
  return tips.filter((t) => farthest - sign * t.xMm <= 1);
}
