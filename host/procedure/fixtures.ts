/** Where the fixtures of a job are: which one reads next, which are on a blade, what each has shown on its height master. */
import { isUncalibrated } from '../gauging/calibration/first';
import { CLOSING_LIMIT_MM, headFor, OPENING_LIMIT_MM } from '../gauging/height-master';
import { fixtureDoubts } from '../gauging/known';
import type { StepTarget } from '../ledger/events';
import { masterErrorMm } from './assess';
import {
  onMaster,
  standing,
  type Asked,
  type JobState,
  type MasterTarget,
  type SoundFixtureReading,
} from './state';
import type { Task } from './task';

/** Fixtures that have joined and that nobody has accounted for otherwise. */
export function fixturesInHand(state: JobState): string[] {
  return state.fixtures.map((f) => f.identity.fixtureId).filter((id) => !(id in state.accountedFor));
}

/** Fixtures that may be on a blade: asked for a tip or read on one, and not seen on their height master since. */
export function fixturesOnBlade(state: JobState): string[] {
  return fixturesInHand(state).filter((id) => {
    const read = state.readings.filter((r) => r.fixtureId === id).at(-1);
    return isOnBlade(askedLast(state, id)) || isOnBlade(read?.target);
  });
}

/** True while a fixture may be on a blade of the machine. */
export function onBlade(state: JobState): boolean {
  return fixturesOnBlade(state).length > 0;
}

/** Which fixture is to read a tip, and whether it has to be clamped anew for it. */
export function fixtureFor(
  state: JobState,
  tip: { readonly spindle: string; readonly end: 'A' | 'B' },
  seating: number,
): { readonly fixtureId?: string; readonly reclamp: boolean; readonly placement: number } {
  const inHand = fixturesInHand(state);
  const there = inHand.find((id) => isThere(state, id, tip, seating));
  if (there !== undefined) {
    const { placement } = askedLast(state, there) as Extract<StepTarget, { placement: number }>;
    return { fixtureId: there, reclamp: false, placement };
  }
  const fixtureId = longestIdle(state, inHand);
  return {
    ...(fixtureId === undefined ? {} : { fixtureId }),
    reclamp: true,
    placement: state.lastPlacement + 1,
  };
}

/** The next reading on a height master before measuring: both edges with every head position that is used. */
export function openingReading(state: JobState): Task | undefined {
  const wrong = checkMaster(state);
  if (wrong !== undefined) return wrong;
  for (const fixtureId of fixturesInHand(state)) {
    for (const head of headsUsed(state, fixtureId)) {
      const reading = masterReading(state, fixtureId, 'opening', head, 0);
      if (reading !== undefined) return reading;
    }
  }
  return undefined;
}

/** The next reading on a height master before the job may be closed: of every fixture that was on a blade, since then. */
export function closingReading(state: JobState): Task | undefined {
  const wrong = checkMaster(state);
  if (wrong !== undefined) return wrong;
  for (const fixtureId of fixturesInHand(state)) {
    const since = lastStepOnBlade(state, fixtureId);
    if (since === undefined) continue;
    const reading = masterReading(state, fixtureId, 'closing', lastHead(state, fixtureId), since);
    if (reading !== undefined) return reading;
  }
  return undefined;
}

/** What a fixture's readings on its height master say against it; empty when it read true throughout. */
export function fixtureCaps(state: JobState): string[] {
  const accounted = Object.entries(state.accountedFor).map(
    ([id, { by, reason }]) =>
      `fixture ${id} took no closing reading; ${by} says that it is off the machine: ${reason}`,
  );
  return [
    ...accounted,
    ...state.fixtures.flatMap(({ identity: { fixtureId }, calibrations }) => [
      ...(calibrations.some(isUncalibrated)
        ? [`fixture ${fixtureId} was never calibrated, it knows only its drawing: calibrate it`]
        : []),
      ...fixtureDoubts(state.instruments, fixtureId),
      ...capsOfOne(state, fixtureId),
    ]),
  ];
}

/** The head stays as it was for the last tip: turning it would not show that the fixture still reads true. */
export function lastHead(state: JobState, fixtureId: string): number {
  return readOnBlades(state, fixtureId).at(-1)?.capture.headPosition ?? 0;
}

const EDGES = ['low', 'high'] as const;

function masterReading(
  state: JobState,
  fixtureId: string,
  when: MasterTarget['when'],
  head: number,
  sinceStep: number,
): Task | undefined {
  const taken = onMaster(state).filter(
    (r) =>
      r.fixtureId === fixtureId &&
      r.target.when === when &&
      r.capture.headPosition === head &&
      r.step > sinceStep,
  );
  const missing = EDGES.filter((edge) => !taken.some((r) => r.target.edge === edge));
  const edge = missing[0];
  if (edge === undefined) return undefined;
  return {
    do: 'read',
    target: { kind: 'master', edge, when },
    fixtureId,
    reclamp: true,
    head: head === 0 ? 'low' : 'high',
    done: EDGES.length - missing.length,
    of: EDGES.length,
  };
}

/** A reading on the height master that is off more than the fixture may be was most likely taken on another edge. */
function checkMaster(state: JobState): Task | undefined {
  const reading = onMaster(state).find(
    (r) => !r.upheld && Math.abs(masterErrorMm(r, state.instruments)) > OPENING_LIMIT_MM,
  );
  if (reading === undefined) return undefined;
  return {
    do: 'check reading',
    reading,
    offByMm: masterErrorMm(reading, state.instruments),
    against: 'the edge',
  };
}

/** Head positions that have read tips; before there is one, that of the newest capture, or the one for this cut height. */
function headsUsed(state: JobState, fixtureId: string): number[] {
  const heads = readOnBlades(state, fixtureId).map((r) => r.capture.headPosition);
  if (heads.length > 0) return [...new Set(heads)];
  const newest = state.readings.filter((r) => r.fixtureId === fixtureId).at(-1);
  return [newest?.by === 'fixture' ? newest.capture.headPosition : headFor(state.profile.cutHeightMm)];
}

function readOnBlades(state: JobState, fixtureId: string): SoundFixtureReading[] {
  return standing(state).filter(
    (r): r is SoundFixtureReading =>
      r.by === 'fixture' && r.fixtureId === fixtureId && r.target.kind !== 'master',
  );
}

function capsOfOne(state: JobState, fixtureId: string): string[] {
  const own = onMaster(state).filter((r) => r.fixtureId === fixtureId);
  const errorsMm = (when: MasterTarget['when'], head?: number) =>
    own
      .filter((r) => r.target.when === when && (head === undefined || r.capture.headPosition === head))
      .map((r) => masterErrorMm(r, state.instruments));
  const caps: string[] = [];
  if (errorsMm('opening').some((e) => Math.abs(e) > OPENING_LIMIT_MM))
    caps.push(`fixture ${fixtureId} is off on its height master`);
  const closing = errorsMm('closing');
  const shift = mean(closing) - mean(errorsMm('opening', lastHead(state, fixtureId)));
  if (closing.length > 0 && Math.abs(shift) > CLOSING_LIMIT_MM)
    caps.push(`fixture ${fixtureId} read ${shift.toFixed(2)} mm differently at the end`);
  return caps;
}

/** Steps of jobs from before there could be two fixtures name none: they were all of the only one. */
function stepsOf(state: JobState, fixtureId: string): (Asked & { readonly step: number })[] {
  return Object.entries(state.steps)
    .map(([step, asked]) => ({ step: Number(step), ...asked }))
    .filter((asked) => (asked.fixtureId ?? state.fixtures[0]?.identity.fixtureId) === fixtureId);
}

function askedLast(state: JobState, fixtureId: string): StepTarget | undefined {
  return stepsOf(state, fixtureId).at(-1)?.target;
}

function lastStepOnBlade(state: JobState, fixtureId: string): number | undefined {
  const asked = stepsOf(state, fixtureId).filter(({ target }) => isOnBlade(target));
  const read = state.readings.filter((r) => r.fixtureId === fixtureId && isOnBlade(r.target));
  const steps = [...asked, ...read].map(({ step }) => step);
  return steps.length === 0 ? undefined : Math.max(...steps);
}

/** Still where it was clamped: its last step was of the same blade end, and it was neither set aside nor clamped anew. */
function isThere(
  state: JobState,
  fixtureId: string,
  tip: { readonly spindle: string; readonly end: string },
  seating: number,
): boolean {
  const last = stepsOf(state, fixtureId).at(-1);
  if (last === undefined || last.target.kind === 'master' || last.clampedAnew === true) return false;
  const { target } = last;
  // Pushing and pulling may shift the clamp, and a blade is taken off to be refitted.
  if (target.kind === 'watch' && target.during === 'push and pull') return false;
  if (wasRefittedSince(state, tip.spindle, last.step)) return false;
  const unsettled = state.readings.some((r) => r.step === last.step && r.setAside !== undefined);
  return !unsettled && target.spindle === tip.spindle && target.end === tip.end && target.seating === seating;
}

function wasRefittedSince({ settings }: JobState, spindle: string, step: number): boolean {
  return settings.some((s) =>
    (s.refits ?? []).some((r) => r.spindle === spindle && r.answer !== 'not now' && r.afterStep >= step),
  );
}

/** The one that was asked longest ago; those that the link has lost come last. */
function longestIdle(state: JobState, fixtureIds: readonly string[]): string | undefined {
  const last = (id: string) => stepsOf(state, id).at(-1)?.step ?? 0;
  const heard = fixtureIds.filter((id) => !state.lost.includes(id));
  return [...(heard.length > 0 ? heard : fixtureIds)].sort((a, b) => last(a) - last(b))[0];
}

function isOnBlade(target: StepTarget | undefined): boolean {
  return target !== undefined && target.kind !== 'master';
}

function mean(values: readonly number[]): number {
  return values.length === 0 ? 0 : values.reduce((a, b) => a + b, 0) / values.length;
}
