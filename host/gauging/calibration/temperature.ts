/** The temperature step of a calibration: some heights once more where fixture and master are warmer or colder. */
import type { Body } from '../../../protocol/wire/messages';
import type { GaugingTarget } from '../events';
import { meanOf } from '../statistics/spread';

/** Degrees between the two parts; below, what the temperature does is not measured. */
export const APART_C = 5;

export interface ReadAt {
  readonly target: GaugingTarget;
  readonly capture: Body<'captured'>;
}

/** Mean temperature of the readings at the first place; undefined before there is one. */
export function firstPlaceC(readings: readonly ReadAt[]): number | undefined {
  const first = readings.filter((r) => !isElsewhere(r.target)).map((r) => r.capture.temperature / 100);
  return first.length === 0 ? undefined : meanOf(first);
}

/** Degrees by which a reading that has to be taken elsewhere is still too near the first ones; 0: it counts. */
export function degreesMissing(target: GaugingTarget, capture: Body<'captured'>, firstC: number | undefined) {
  if (!isElsewhere(target) || firstC === undefined) return 0;
  return Math.max(0, APART_C - Math.abs(capture.temperature / 100 - firstC));
}

export function isElsewhere(target: GaugingTarget): boolean {
  return target.kind === 'edge' && target.elsewhere === true;
}
