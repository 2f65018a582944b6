/** From the readings of one setting to poses, measures, result and what to turn: the bridge from events to the solver. */
import {
  explainFaults,
  judge,
  linearise,
  solveTips,
  turnInSteps,
  varianceFactor,
  type Faults,
  type Hanging,
  type Layout,
  type MeasureQuestion,
  type Judgement,
  type Solution,
  type TipReading,
  type StepTurning,
  type Widths,
} from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import type { TurningFinding } from '../ledger/events';
import { floorHolds, floorOfJob } from '../bay/known-floor';
import { edgesFor } from '../gauging/height-master';
import { knownMaster, type GaugingKnown } from '../gauging/known';
import type { MachineProfile } from '../machines/profile';
import { forResult } from './for-result';
import { findings, hangingAt, hangingWith, type Readings } from './gains';
import { assumedValues, assumedWidths, type AssumedValues } from './assumed-values';
import { shimRiseMm } from './shim-rise';
import { uncertaintyBudget, type UncertaintyBudget } from './uncertainty-budget';
import { floorWidthOf, jobWidths } from './job-widths';
import { spotOffset } from './spot-offset';
import {
  onMaster,
  standing,
  type FixtureReading,
  type JobState,
  type MasterTarget,
  type Setting,
  type SoundReading,
  type TipTarget,
} from './state';

export interface Assessment {
  readonly readings: readonly TipReadingOfJob[];
  readonly solution: Solution;
  /** So many times as large as their widths give them are all uncertainties, because the readings scatter so much: at least 1. */
  readonly scatter: number;
  /** The readings disagree with the survey of the bay, which therefore was not used. */
  readonly surveyDisagrees: boolean;
  readonly result: Judgement;
  /** The decision with assumed widths doubled: one that becomes another rests on assumed values. */
  readonly assumed: () => AssumedValues;
  /** What is wrong besides the adjusters, if anything. */
  readonly faults: () => Faults;
  /** Undefined when the machine's weight would hang outside its hangers. */
  readonly turning: () => StepTurning | undefined;
  /** Hangers and adjusters with their ratios as they are known before this setting is turned. */
  readonly hanging: () => Hanging;
  /** Where the uncertainty comes from, source by source. */
  readonly budget: () => UncertaintyBudget;
  /** What the turning before this setting looks like when the readings contradict what was said of it; else undefined. */
  readonly turningFindings: () => TurningFinding[] | undefined;
}

export type TipReadingOfJob = SoundReading & { readonly target: TipTarget };

/** Readings of blade tips that count for a setting, oldest first. */
export function tipReadings(state: JobState, setting: Setting): TipReadingOfJob[] {
  return standing(state).filter(
    (r): r is TipReadingOfJob => r.target.kind === 'tip' && setting.seatings.includes(r.target.seating),
  );
}

/**
 * Solves one setting. The solution says itself which measures the readings do not determine. States are immutable, so the
 * answer is kept for as long as readings and setting are the same; its parts are computed when first asked for.
 */
export function assess(state: JobState, setting: Setting): Assessment {
  const kept = assessed.get(state.readings) ?? new Map<string, Assessment>();
  assessed.set(state.readings, kept);
  const carrying = state.profile.hangers.map(
    (h) => setting.felt[h.name] !== 'slack' || setting.takenUp.includes(h.name),
  );
  const earlier = state.settings.slice(0, state.settings.indexOf(setting) + 1);
  const turnings = earlier.map((s) => [s === setting ? [] : s.turned, s.turningChecked ?? '']);
  const key = `${setting.seatings.join()} ${carrying.join()} ${JSON.stringify(turnings)}`;
  const found = kept.get(key) ?? assessment(state, setting, tipReadings(state, setting), carrying);
  kept.set(key, found);
  return found;
}

const assessed = new WeakMap<JobState['readings'], Map<string, Assessment>>();

function assessment(
  state: JobState,
  setting: Setting,
  readings: TipReadingOfJob[],
  carrying: boolean[],
): Assessment {
  const { profile } = state;
  const questions = measureQuestions(profile);
  const solverReadings = readings.map((r) => toSolverReading(state, r));
  const master = knownMaster(state.instruments, readings[0]?.fixtureId ?? '');
  const { lowMm, highMm } = edgesFor(master, headOf(readings[0]));
  const widths = widthsFor(solverReadings, jobWidths(state, (lowMm + highMm) / 2));
  const solve = (on: Layout, by: Widths) => solveTips(on, solverReadings, by, questions);
  const { degreesOfFreedom } = floorWidthOf(state);
  const judged = (solution: Solution, by: Widths) =>
    forResult(solution, solverReadings, by, questions, degreesOfFreedom);
  const { layout, solution: plain, surveyDisagrees } = onItsFloor(state, (on) => solve(on, widths));
  const solution = judged(plain, widths);
  const result = judge(solution, questions);
  const decide = (others: Widths) =>
    others === widths ? result : judge(judged(solve(layout, others), others), questions);
  const scatter = Math.sqrt(varianceFactor(plain));
  const rounds = readingsOfRounds(state, widths);
  const hanging = once(() => hangingAt(state, setting, rounds));
  return {
    readings,
    solution,
    scatter,
    surveyDisagrees,
    result,
    assumed: once(() => assumedValues(widths, assumedWidths(state), decide)),
    faults: once(() => explainFaults(layout, solverReadings, widths, questions, plain)),
    turning: once(() =>
      turnInSteps(
        solution,
        hanging(),
        questions,
        carrying,
        profile.adjusters.map((a) => a.stepTurns),
      ),
    ),
    hanging,
    budget: once(() =>
      uncertaintyBudget(
        { layout, readings: solverReadings, widths, questions, solution: plain, scatter },
        (on, of, by) => solveTips(on, of, by, questions),
      ),
    ),
    turningFindings: once(() => findings(state, setting, rounds)),
  };
}

/** A setting's readings as the solver takes them. */
export function solverReadings(state: JobState, setting: Setting): TipReading[] {
  return tipReadings(state, setting).map((r) => toSolverReading(state, r));
}

/** The machine on the floor of its bay, as far as that is known. */
export function floorOf(state: Pick<JobState, 'profile' | 'bay' | 'fixtures'>): Layout {
  const layout = layoutOfJob(state);
  const surveyed = state.bay === undefined ? undefined : floorOfJob(state.bay);
  return surveyed === undefined ? layout : { ...layout, surveyed };
}

/** Once a blade has been refitted the readings tell it from its shaft, which then need not be taken for nearly straight. */
function widthsFor(readings: readonly TipReading[], widths: Widths): Widths {
  return readings.some((r) => r.refitted) ? { ...widths, shaftMm: widths.bendMm } : widths;
}

/** The machine with the fixture's shape, on a floor of which nothing is known. */
export function layoutOfJob(state: Pick<JobState, 'profile' | 'fixtures'>): Layout {
  const offset = spotOffset(state);
  const layout = layoutOf(state.profile);
  return offset === undefined ? layout : { ...layout, spotOffset: offset };
}

/** Solves on the floor as the bay's survey has it; where the readings disagree with that, without. */
function onItsFloor(state: JobState, solve: (layout: Layout) => Solution) {
  const unsurveyed = layoutOfJob(state);
  const surveyed = state.bay === undefined ? undefined : floorOfJob(state.bay);
  const without = once(() => solve(unsurveyed));
  if (surveyed === undefined) {
    return { layout: unsurveyed, solution: without(), surveyDisagrees: false };
  }
  const layout: Layout = { ...unsurveyed, surveyed };
  const solution = solve(layout);
  return floorHolds(solution, without)
    ? { layout, solution, surveyDisagrees: false }
    : { layout: unsurveyed, solution: without(), surveyDisagrees: true };
}

/** What the rounds of turning of a job are made of. */
export function readingsOfRounds(state: JobState, widths = jobWidths(state, 60)): Readings {
  return {
    layout: layoutOfJob(state),
    of: (setting) => tipReadings(state, setting).map((r) => toSolverReading(state, r)),
    widths,
  };
}

function once<T>(compute: () => T): () => T {
  let kept: { readonly value: T } | undefined;
  return () => (kept ??= { value: compute() }).value;
}

/** What the fixture reads too high today with its head in this position, from its opening readings on the height master. */
export function offsetOfTheDayMm(state: JobState, fixtureId: string, headPosition: number): number {
  const opening = onMaster(state).filter(
    (r) =>
      r.fixtureId === fixtureId && r.capture.headPosition === headPosition && r.target.when === 'opening',
  );
  if (opening.length === 0) return 0;
  return opening.reduce((sum, r) => sum + masterErrorMm(r, state.instruments), 0) / opening.length;
}

/** How much a reading on the height master differs from the edge's known height. */
export function masterErrorMm(
  reading: Pick<FixtureReading, 'capture' | 'fixtureId'> & { readonly target: MasterTarget },
  known: GaugingKnown | undefined,
): number {
  const { lowMm, highMm } = edgesFor(knownMaster(known, reading.fixtureId), reading.capture.headPosition);
  return reading.capture.height / 1000 - (reading.target.edge === 'low' ? lowMm : highMm);
}

export function layoutOf(profile: MachineProfile): Layout {
  const { spindles, wheels, groundPlane, uncertaintyMm } = profile;
  return { spindles, wheels, groundPlane, ...(uncertaintyMm === undefined ? {} : { uncertaintyMm }) };
}

/** How far a blade turns above the deck's tip plane by design: the upper one of a stacked cross. Heights are solved without it. */
export function stackHeightMm(profile: MachineProfile, spindle: string): number {
  return profile.spindles.find((s) => s.name === spindle)?.stackedOn?.aboveMm ?? 0;
}

export function measureQuestions(profile: MachineProfile): MeasureQuestion[] {
  const index = new Map(profile.spindles.map((s, i) => [s.name, i]));
  const at = (name: string) => index.get(name) ?? -1;
  return profile.measures.map((m): MeasureQuestion => {
    const limits = { name: m.name, targetMm: m.targetMm, lowerMm: m.lowerMm, upperMm: m.upperMm };
    return m.what === 'bend'
      ? { what: 'bend', spindle: at(m.spindle), ...limits }
      : {
          what: 'tips',
          terms: m.terms.map((t) => ({ spindle: at(t.spindle), headingDeg: t.headingDeg, weight: t.weight })),
          ...limits,
        };
  });
}

/** With nominal ratios. */
export function hangingOf(profile: MachineProfile): Hanging {
  return hangingWith(profile, undefined);
}

function toSolverReading(state: JobState, reading: TipReadingOfJob): TipReading {
  const { target } = reading;
  const stackMm = stackHeightMm(state.profile, target.spindle);
  return {
    spindle: state.profile.spindles.findIndex((s) => s.name === target.spindle),
    headingDeg: target.headingDeg,
    end: target.end === 'A' ? 1 : -1,
    refitted: target.refitted === true,
    seating: target.seating,
    placement: target.placement,
    instrument: instrumentOf(state, reading),
    heightMm: heightMm(state, reading) - stackMm - shimRiseMm(state, target),
    standardErrorMm:
      reading.by === 'ruler' ? reading.expandedMm / 2 : standardErrorMm(reading.calibration, reading.capture),
  };
}

/** Fixtures count in the order in which they joined; a ruler is one more. */
function instrumentOf({ fixtures }: JobState, { fixtureId }: SoundReading): number {
  const at = fixtures.findIndex((f) => f.identity.fixtureId === fixtureId);
  return at < 0 ? fixtures.length : at;
}

/** A ruler stands on the floor and has no zero of the day: what it may be off is all in its U. */
function heightMm(state: JobState, reading: SoundReading): number {
  if (reading.by === 'ruler') return reading.heightMm;
  const { fixtureId, capture } = reading;
  const plateMm = state.plate?.thicknessMm ?? 0;
  return capture.height / 1000 + plateMm - offsetOfTheDayMm(state, fixtureId, capture.headPosition);
}

function headOf(reading: SoundReading | undefined): number {
  return reading?.by === 'fixture' ? reading.capture.headPosition : 0;
}

/** Standard error of the mean distance, through the slope of the calibration at this reading. */
function standardErrorMm(calibration: Body<'calibration'>, capture: Body<'captured'>): number {
  const step = 2560;
  const here = linearise(calibration.knots, capture.countsMean).distanceUm;
  const there = linearise(calibration.knots, capture.countsMean + step).distanceUm;
  const umPerUnit = Math.abs(there - here) / step;
  return (capture.countsSd * umPerUnit) / 1000 / Math.sqrt(Math.max(1, capture.samples));
}
