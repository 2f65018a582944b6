/** The next tip to read, and what ends a sequence of readings. */
import { assess, tipReadings, type Assessment, type TipReadingOfJob } from './assess';
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
  const reclamp = !sameClamping(state, first, seating);
  const placement = reclamp ? state.lastPlacement + 1 : state.lastPlacement;
  const remainingS = missing.reduce((sum, tip) => sum + (tip.seconds ?? NaN), 0);
  return {
    do: 'read',
    target: {
      kind: 'tip',
      spindle,
      headingDeg,
      end,
      seating,
      placement,
      ...(isRefitted(state, spindle) ? { refitted: true } : {}),
    },
    reclamp,
    ...(state.plate === undefined ? {} : { onPlate: true }),
    done: of - missing.length,
    of,
    ...(Number.isNaN(remainingS) ? {} : { remainingS }),
  };
}

/** The fixture is still where it was clamped when the step before read the same blade end and was not set aside. */
function sameClamping(state: JobState, tip: { spindle: string; end: string }, seating: number): boolean {
  const before = state.steps[state.lastStep];
  if (before?.kind !== 'tip') return false;
  const unsettled = state.readings.some((r) => r.step === state.lastStep && r.setAside !== undefined);
  return !unsettled && before.spindle === tip.spindle && before.end === tip.end && before.seating === seating;
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
  if (missing > 0) return `everything limited is decided after ${read}`;
  return result.decision === 'undecided'
    ? `all ${tips.length} readings are taken`
    : `all ${tips.length} readings are taken, and everything limited is decided`;
}
