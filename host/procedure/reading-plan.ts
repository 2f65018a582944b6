/** Which tips a job reads next, in which order, and when it has read enough. */
import {
  fullSequence,
  nextReadings,
  planSequence,
  solveTips,
  widenedByMisfit,
  type Outlook,
  type Place,
} from '../../protocol/solver';
import type { MachineProfile } from '../machines/profile';
import { assess, floorOf, solverReadings, tipReadings, type TipReadingOfJob } from './assess';
import { floorWidthOf } from './job-widths';
import { declaredHeadings, isBlocked, readingTask } from './reading-task';
import type { JobState, Setting, TipTarget } from './state';

export type Tip = Pick<TipTarget, 'spindle' | 'headingDeg' | 'end'>;

/** A tip to be read, and about how many seconds that takes. */
export interface PlannedTip extends Tip {
  readonly seconds?: number;
}

/** How long a setting is read on. */
interface Patience {
  /** More readings than this beyond its sequence are not asked for: something else is wrong then. */
  readonly extraReadings: number;
  readonly seatings: number;
  /** A bundle of readings with less chance than this to decide is not worth its time. */
  readonly worth: number;
}

const USUAL: Patience = { extraReadings: 16, seatings: 3, worth: 0.1 };
/** Of whoever asks for the full sequence, to know how the machine came. */
const THOROUGH: Patience = { extraReadings: 32, seatings: 5, worth: 0.05 };
/** What a survey leaves of the floor (assumed). */
const SURVEYED_FLOOR_MM = 0.3;

/** What a setting's current seating is to be read at, and whether it may end as soon as everything is decided. */
export interface ReadingPlan {
  readonly tips: readonly PlannedTip[];
  readonly endsWhenDecided: boolean;
}

/**
 * The first seating of a setting takes the deciding sequence (or the full one, when that is asked for, as it came); after a
 * result that is undecided goes what the outlook then showed. Jobs from before there were sequences read both ends of every
 * blade.
 */
export function readingPlan(state: JobState, setting: Setting): ReadingPlan {
  if (state.sequence === undefined) {
    return { tips: bothEnds(state.profile, setting.seatings.length === 1), endsWhenDecided: false };
  }
  const last = setting.assessed.at(-1);
  if (last === undefined) {
    const full = isFull(state, setting);
    return { tips: sequenceFor(state, full ? 'full' : 'quick'), endsWhenDecided: !full };
  }
  const seatedSince = setting.seatings.length > last.seatings;
  const readSince = tipReadings(state, setting).some((r) => r.step > last.afterStep);
  if (!seatedSince && !readSince) return { tips: [], endsWhenDecided: true };
  const way = outlooks(state, setting).find((o) => o.what === (seatedSince ? 'seat again' : 'read on'));
  const steps = way?.steps ?? [];
  const tips =
    steps.length > 0 || !seatedSince ? named(state.profile, steps) : bothEnds(state.profile, false);
  return { tips, endsWhenDecided: true };
}

/** The machine as it came, by the full sequence: it is read until that is known, before anything is turned. */
export function isFull(state: JobState, setting: Setting): boolean {
  return state.sequence === 'full' && setting.stage === 'arrival';
}

/** Readings of the setting that the plan in hand counts: those of this seating since it was made. */
export function readForPlan(state: JobState, setting: Setting): TipReadingOfJob[] {
  const seating = setting.seatings.at(-1) ?? 0;
  const since = state.sequence === undefined ? -1 : (setting.assessed.at(-1)?.afterStep ?? -1);
  return tipReadings(state, setting).filter((r) => r.target.seating === seating && r.step > since);
}

/** The way to go on after an undecided result that promises to settle it soonest; undefined when none is worth it. */
export function wayToGoOn(
  state: JobState,
  setting: Setting,
): { readonly what: Outlook['what']; readonly tips: readonly PlannedTip[] } | undefined {
  const full = isFull(state, setting);
  const { extraReadings, seatings, worth } = full ? THOROUGH : USUAL;
  const extra = tipReadings(state, setting).length - sequenceFor(state, full ? 'full' : 'quick').length;
  const way = outlooks(state, setting)
    .filter((o) => o.decides >= worth)
    .filter((o) => (o.what === 'read on' ? extra < extraReadings : setting.seatings.length < seatings))[0];
  return way === undefined ? undefined : { what: way.what, tips: named(state.profile, way.steps) };
}

/**
 * What would settle a result that more readings and seatings hardly do: a better known floor, when that is what is missing.
 * Undefined for jobs from before there were sequences, and when the floor is known already.
 */
export function adviceOnUndecided(state: JobState, setting: Setting): string | undefined {
  if (state.sequence === undefined) return undefined;
  const { solution } = assess(state, setting);
  const task = readingTask(state, solution.layout);
  const readings = solverReadings(state, setting);
  const best = (ways: readonly Outlook[]) => Math.max(0, ...ways.map((way) => way.decides));
  const again = best(nextReadings(task, readings, solution));
  if (solution.layout.surveyed !== undefined) return undefined;
  const surveyed = { ...task, widths: { ...task.widths, floorMm: SURVEYED_FLOOR_MM } };
  const known = widenedByMisfit(solveTips(task.layout, readings, surveyed.widths, task.questions));
  const then = best(nextReadings(surveyed, readings, known));
  const percent = (share: number) => `${Math.floor(100 * share)} %`;
  return then > again + USUAL.worth
    ? `survey the bay, or turn the machine round on its spots and measure again: on a floor known to ${SURVEYED_FLOOR_MM} mm the next readings decide with a chance of ${percent(then)}, on this one ${percent(again)}`
    : undefined;
}

/** Whether the readings so far could carry a decision at all: asked before the solver is. */
export function couldDecide(profile: MachineProfile, taken: readonly Pick<TipReadingOfJob, 'target'>[]) {
  const read = (spindle: string, end?: 'A' | 'B') =>
    taken.some((r) => r.target.spindle === spindle && (end === undefined || r.target.end === end));
  return profile.measures.every((m) =>
    m.what === 'bend'
      ? read(m.spindle, 'A') && read(m.spindle, 'B')
      : m.terms.every((term) => read(term.spindle)),
  );
}

/** Both ends of every blade at its declared headings, or end A alone: what jobs read before there were sequences. */
export function bothEnds(profile: MachineProfile, first: boolean): Tip[] {
  return profile.spindles.flatMap((spindle) => {
    const headings = first ? headingsToRead(profile, spindle.name) : declaredHeadings(profile, spindle.name);
    const along = (end: 'A' | 'B', order: number[]): Tip[] =>
      order.map((headingDeg) => ({ spindle: spindle.name, headingDeg, end }));
    // End B starts where end A stopped: the fixture changes ends and the blade stays.
    return first ? [...along('A', headings), ...along('B', [...headings].reverse())] : along('A', headings);
  });
}

/** A sequence of a job's machine over its bay's floor; found once for each. */
function sequenceFor(state: JobState, which: 'quick' | 'full'): PlannedTip[] {
  const kept = sequences.get(state.profile) ?? new Map<string, PlannedTip[]>();
  sequences.set(state.profile, kept);
  const key = `${which} ${JSON.stringify([state.bay ?? null, state.readingCosts ?? null, floorWidthOf(state)])}`;
  const found = kept.get(key);
  if (found !== undefined) return found;
  const task = readingTask(state, floorOf(state));
  const { steps } = which === 'full' ? fullSequence(task) : planSequence(task);
  const tips = named(state.profile, steps);
  kept.set(key, tips);
  return tips;
}

const sequences = new WeakMap<MachineProfile, Map<string, PlannedTip[]>>();

/** What there is to do after the last result of a setting, from the readings that it rested on. */
function outlooks(state: JobState, setting: Setting): readonly Outlook[] {
  const last = setting.assessed.at(-1);
  if (last === undefined) return [];
  const known: Setting = { ...setting, seatings: setting.seatings.slice(0, last.seatings) };
  const readings = state.readings.filter((r) => r.step <= last.afterStep || r.target.kind === 'master');
  const then: JobState = { ...state, readings };
  const tips = tipReadings(then, known);
  const newest = tips.at(-1);
  if (newest === undefined) return [];
  // A capture is one object for as long as its job is in memory; which others count beside it is the rest of the key.
  const key = JSON.stringify(tips.map((r) => [r.fixtureId, r.number, r.target]));
  const held = newest.by === 'fixture' ? newest.capture : newest;
  const kept = outlooksKept.get(held);
  if (kept?.key === key) return kept.outlooks;
  const { solution } = assess(then, known);
  const found = nextReadings(readingTask(state, solution.layout), solverReadings(then, known), solution);
  outlooksKept.set(held, { key, outlooks: found });
  return found;
}

const outlooksKept = new WeakMap<object, { readonly key: string; readonly outlooks: readonly Outlook[] }>();

function named(
  profile: MachineProfile,
  steps: readonly (Place & { readonly seconds: number })[],
): PlannedTip[] {
  return steps.flatMap(({ spindle, headingDeg, end, seconds }) => {
    const name = profile.spindles[spindle]?.name;
    return name === undefined
      ? []
      : { spindle: name, headingDeg, end: end === 1 ? ('A' as const) : ('B' as const), seconds };
  });
}

const QUARTERS = [0, 90, 180, -90];

/** The declared headings, filled up until the deck's plane and the spindle's tilt can be told apart as well as may be. */
function headingsToRead(profile: MachineProfile, spindle: string): number[] {
  const wanted = profile.spindles.length >= 3 ? 2 : profile.spindles.length === 2 ? 3 : 4;
  const chosen = declaredHeadings(profile, spindle);
  const free = QUARTERS.filter((h) => !isBlocked(profile, spindle, h));
  while (chosen.length < wanted) {
    const left = free.filter((h) => !chosen.some((c) => apartDeg(c, h) < 1));
    const next = left.sort((a, b) => nearestDeg(b, chosen) - nearestDeg(a, chosen))[0];
    if (next === undefined) break;
    chosen.push(next);
  }
  return chosen.sort((a, b) => a - b);
}

function apartDeg(a: number, b: number): number {
  const d = Math.abs(a - b) % 360;
  return Math.min(d, 360 - d);
}

function nearestDeg(heading: number, others: number[]): number {
  return Math.min(360, ...others.map((o) => apartDeg(o, heading)));
}
