/** The next tip to read, and what ends a sequence of readings. */
import { assess, tipReadings, type Assessment, type TipReadingOfJob } from './assess';
import { fixtureFor } from './fixtures';
import { couldDecide, readForPlan, readingPlan, type PlannedTip } from './reading-plan';
import { isRefitted } from './refit';
import { currentSetting, type JobState, type Setting } from './state';
import type { Task } from './task';

/** The first tip of the plan in hand that is not read; undefined when the plan is done or everything is decided. */
export function readTips(state: JobState, setting: Setting): Task | undefined {
  const plan = readingPlan(state, setting);
  const taken = readForPlan(state, setting);
  const missing = plan.tips.filter((tip) => !taken.some((r) => isOf(r, tip)));
  if (missing.length === 0 || (plan.endsWhenDecided && isDecided(state, setting))) return undefined;
  return readTip(state, missing, plan.tips.length);
}

/** Everything limited is inside, by the readings so far. */
function isDecided(state: JobState, setting: Setting): boolean {
  if (!couldDecide(state.profile, tipReadings(state, setting))) return false;
  return assess(state, setting).result.decision === 'pass';
}

function isOf({ target }: TipReadingOfJob, tip: PlannedTip): boolean {
  return target.spindle === tip.spindle && target.headingDeg === tip.headingDeg && target.end === tip.end;
}

/** The first of the tips that are still to be read, of so many. */
export function readTip(state: JobState, missing: readonly PlannedTip[], of: number): Task | undefined {
  const first = missing[0];
  if (first === undefined) return undefined;
  const { spindle, headingDeg, end } = first;
  const seating = currentSetting(state)?.seatings.at(-1) ?? 0;
  const refitted = isRefitted(state, spindle) ? { refitted: true as const } : {};
  const done = of - missing.length;
  if (state.ruler !== undefined) {
    const placement = state.lastPlacement + 1;
    const target = { kind: 'tip', spindle, headingDeg, end, seating, placement, ...refitted } as const;
    return { do: 'read by ruler', target, expandedMm: state.ruler.expandedMm, done, of };
  }
  const { placement, ...which } = fixtureFor(state, first, seating);
  const remainingS = missing.reduce((sum, tip) => sum + (tip.seconds ?? NaN), 0);
  return {
    do: 'read',
    target: { kind: 'tip', spindle, headingDeg, end, seating, placement, ...refitted },
    ...which,
    ...(state.plate === undefined ? {} : { onPlate: true }),
    done,
    of,
    ...(Number.isNaN(remainingS) ? {} : { remainingS }),
  };
}

/** Why the readings end here; undefined for jobs from before there were sequences. */
export function whyReadingEnds(
  state: JobState,
  setting: Setting,
  { result }: Assessment,
): string | undefined {
  if (state.sequence === undefined) return undefined;
  const { tips } = readingPlan(state, setting);
  const taken = readForPlan(state, setting);
  const missing = tips.filter((tip) => !taken.some((r) => isOf(r, tip))).length;
  const read = `${tips.length - missing} of ${tips.length} readings`;
  const all = tips.length === 1 ? 'the one reading is taken' : `all ${tips.length} readings are taken`;
  if (missing > 0) return `everything limited is decided after ${read}`;
  return result.decision === 'undecided' ? all : `${all}, and everything limited is decided`;
}
