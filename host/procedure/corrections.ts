/** What a correcting event makes of what stood before; the event that it corrects stays on the record. */
import type { JobEvent, StepTarget } from '../ledger/events';
import type { Setting } from './job-state';

/** The target of a reading that was of another tip than was asked for. Its seating and clamping are what they were. */
export function correctedTarget(
  target: StepTarget,
  { spindle, headingDeg, end }: Extract<JobEvent, { type: 'tip corrected' }>,
): StepTarget {
  return target.kind === 'tip' ? { ...target, spindle, headingDeg, end } : target;
}

/** The newest settings' turns of one adjuster, replaced by what was really turned of it in all. */
export function correctedTurns(
  settings: readonly Setting[],
  { adjuster, turns }: Extract<JobEvent, { type: 'turn corrected' }>,
): Setting[] {
  const at = settings.findLastIndex((s) => s.turned.some((t) => t.adjuster === adjuster));
  return settings.map((setting, i) => {
    if (i !== at) return setting;
    const first = setting.turned.findIndex((t) => t.adjuster === adjuster);
    return {
      ...setting,
      turned: setting.turned.map((t, k) => {
        if (t.adjuster !== adjuster) return t;
        return { ...t, turns: k === first ? turns : 0 };
      }),
    };
  });
}
