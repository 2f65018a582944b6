/** From the readings of one setting to poses, measures, result and what to turn: the bridge from events to the solver. */
import {
  beamTiltCosine,
  judge,
  linearise,
  solveTips,
  whatToTurn,
  type Hanging,
  type Layout,
  type MeasureQuestion,
  type Result,
  type Solution,
  type TipReading,
  type Turning,
} from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import { NOMINAL_HEIGHT_MASTER, type HeightMaster } from '../gauging/height-master';
import { widthValues } from '../gauging/widths';
import type { MachineProfile } from '../machines/profile';
import { standing, type JobState, type Reading, type Setting, type TipTarget } from './state';

export interface Assessment {
  readonly readings: readonly TipReadingOfJob[];
  readonly solution: Solution;
  readonly result: Result;
  /** The result when all assumed widths are doubled: a pass that becomes another decision rests on assumed values. */
  readonly resultWidthsDoubled: Result;
  readonly turning: Turning;
}

export type TipReadingOfJob = Reading & { readonly target: TipTarget };

/** Readings of blade tips that count for a setting, oldest first. */
export function tipReadings(state: JobState, setting: Setting): TipReadingOfJob[] {
  return standing(state).filter(
    (r): r is TipReadingOfJob => r.target.kind === 'tip' && setting.seatings.includes(r.target.seating),
  );
}

/** Solves one setting. The solution says itself which measures the readings do not determine. */
export function assess(
  state: JobState,
  setting: Setting,
  master: HeightMaster = NOMINAL_HEIGHT_MASTER,
): Assessment {
  const { profile } = state;
  const readings = tipReadings(state, setting);
  const solverReadings = readings.map((r) => toSolverReading(state, r, master));
  const questions = measureQuestions(profile);
  const solve = (factor: number) =>
    solveTips(layoutOf(profile), solverReadings, widthValues(factor), questions);
  const solution = solve(1);
  const carrying = profile.hangers.map(
    (h) => setting.felt[h.name] !== 'slack' || setting.takenUp.includes(h.name),
  );
  return {
    readings,
    solution,
    result: judge(solution, questions),
    resultWidthsDoubled: judge(solve(2), questions),
    turning: whatToTurn(solution, hangingOf(profile), questions, carrying),
  };
}

/** What the fixture reads too high today, from its opening readings on the height master; 0 before there is one. */
export function offsetOfTheDayMm(
  state: JobState,
  fixtureId: string,
  master: HeightMaster = NOMINAL_HEIGHT_MASTER,
): number {
  const opening = standing(state).filter(
    (r) => r.fixtureId === fixtureId && r.target.kind === 'master' && r.target.when === 'opening',
  );
  if (opening.length === 0) return 0;
  const sum = opening.reduce((total, r) => total + masterErrorMm(r, master), 0);
  return sum / opening.length;
}

/** How much a reading on the height master differs from the edge's known height. */
export function masterErrorMm(reading: Reading, master: HeightMaster = NOMINAL_HEIGHT_MASTER): number {
  if (reading.target.kind !== 'master') throw new Error('not a reading on the height master');
  return reading.capture.height / 1000 - (reading.target.edge === 'low' ? master.lowMm : master.highMm);
}

export function layoutOf(profile: MachineProfile): Layout {
  return { spindles: profile.spindles, wheels: profile.wheels, groundPlane: profile.groundPlane };
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

export function hangingOf(profile: MachineProfile): Hanging {
  const index = new Map(profile.hangers.map((h, i) => [h.name, i]));
  return {
    hangers: profile.hangers,
    centreOfGravity: profile.centreOfGravity,
    adjusters: profile.adjusters.map((a) => ({
      moves: a.moves.map((m) => ({ hanger: index.get(m.hanger) ?? -1, mmPerTurn: m.mmPerTurn })),
      ratioUncertainty: a.ratioUncertainty,
      travelTurns: a.travelTurns,
    })),
  };
}

function toSolverReading(state: JobState, reading: TipReadingOfJob, master: HeightMaster): TipReading {
  const { target, capture } = reading;
  const calibration = calibrationOf(state, reading);
  return {
    spindle: state.profile.spindles.findIndex((s) => s.name === target.spindle),
    headingDeg: target.headingDeg,
    end: target.end === 'A' ? 1 : -1,
    refitted: false,
    seating: target.seating,
    placement: target.placement,
    heightMm: capture.height / 1000 - offsetOfTheDayMm(state, reading.fixtureId, master),
    standardErrorMm: standardErrorMm(calibration, capture),
  };
}

/** Standard error of the mean distance, through the slope of the calibration at this reading. */
function standardErrorMm(calibration: Body<'calibration'>, capture: Body<'captured'>): number {
  const step = 2560;
  const here = linearise(calibration.knots, capture.countsMean).distanceUm;
  const there = linearise(calibration.knots, capture.countsMean + step).distanceUm;
  const umPerUnit = Math.abs(there - here) / step;
  return (capture.countsSd * umPerUnit) / 1000 / Math.sqrt(Math.max(1, capture.samples));
}

function calibrationOf(state: JobState, reading: Reading): Body<'calibration'> {
  const fixture = state.fixtures.find((f) => f.identity.fixtureId === reading.fixtureId);
  const found = fixture?.calibrations.find(
    (c) =>
      c.headPosition === reading.capture.headPosition && c.version === reading.capture.calibrationVersion,
  );
  if (found === undefined)
    throw new Error(`no calibration is on record for capture ${reading.capture.capture}`);
  return found;
}

/** Angle of the beam from straight down, degrees, for showing beside a reading. */
export function beamTiltDeg(calibration: Body<'calibration'>, capture: Body<'captured'>): number {
  const beam = [calibration.beamX / 1e9, calibration.beamY / 1e9, calibration.beamZ / 1e9] as const;
  const gravity = [
    capture.gravityX - calibration.gravityBiasX,
    capture.gravityY - calibration.gravityBiasY,
    capture.gravityZ - calibration.gravityBiasZ,
  ] as const;
  return (Math.acos(Math.min(1, beamTiltCosine(beam, gravity))) * 180) / Math.PI;
}
