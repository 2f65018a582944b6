/** The test that tells a bent blade from a bent shaft: the blade goes back on half a turn round and is read again. */
import type { Assessment } from './assess';
import { tipReadings } from './assess';
import type { JobState, Setting, TipTarget } from './state';

/** More likely than not: what is beyond its limit with less is not worth taking a blade off for. */
const LIKELY = 0.5;

/**
 * The spindle whose blade is to be refitted: something is bent there beyond its limit, the readings cannot say whether
 * blade or shaft, and nobody has been asked yet. The error follows the blade or stays with the shaft.
 */
export function spindleToRefit(state: JobState, { result, faults }: Assessment): string | undefined {
  if (result.decision === 'pass') return undefined;
  for (const { explanations } of faults().findings) {
    const blade = explanations.find((e) => e.kind === 'bent blade');
    const shaft = explanations.find(
      (e) => e.kind === 'bent shaft or dirty hub face' && e.spindle === blade?.spindle,
    );
    const spindle = state.profile.spindles[blade?.spindle ?? -1];
    if (blade === undefined || shaft === undefined || spindle === undefined) continue;
    const asked = state.settings.some((s) => (s.refits ?? []).some((r) => r.spindle === spindle.name));
    if (!asked && blade.beyondLimit > LIKELY) return spindle.name;
  }
  return undefined;
}

/** Refits that were done in a setting; each asks for readings and another result. */
export function refitsDone(setting: Setting): string[] {
  return (setting.refits ?? []).filter((r) => r.answer === 'half a turn round').map((r) => r.spindle);
}

/** A blade has been refitted and the result with it is not in yet: only what tells blade from shaft is read now. */
export function isTesting(setting: Setting): boolean {
  const last = setting.assessed.at(-1)?.afterStep ?? -1;
  return (setting.refits ?? []).some((r) => r.answer === 'half a turn round' && r.afterStep >= last);
}

/** Whether a spindle's blade is now half a turn round from how it came. */
export function isRefitted(state: JobState, spindle: string): boolean {
  return state.settings.flatMap(refitsDone).filter((name) => name === spindle).length % 2 === 1;
}

export type RefitTip = Pick<TipTarget, 'spindle' | 'headingDeg' | 'end'>;

/** Both ends of each refitted blade, at the heading that was read first: what is still to be read. */
export function refittedTipsToRead(state: JobState, setting: Setting): RefitTip[] {
  const readings = tipReadings(state, setting);
  return refitsDone(setting).flatMap((spindle) => {
    const own = readings.filter((r) => r.target.spindle === spindle);
    const headingDeg = own[0]?.target.headingDeg ?? 0;
    return (['A', 'B'] as const)
      .filter((end) => !own.some((r) => r.target.refitted === true && r.target.end === end))
      .map((end) => ({ spindle, headingDeg, end }));
  });
}
