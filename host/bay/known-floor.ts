/** What a job knows of the floor it stands on, from its bay: for the solver, and in words. */
import { floorSums, type Solution, type SurveyedFloor } from '../../protocol/solver';
import { ASSUMED_WIDTHS, FLOOR_SLOPE } from '../gauging/widths';
import type { Bay, Day } from './bay';
import { expiryOf } from './expiry';
import { surveyedFloorOf, surveyResult, surveyState, type SurveyState } from './survey';
import type { FloorSum } from './turn-round';

/** A bay as a job chose it. */
export interface BayOfJob {
  readonly bay: Bay;
  readonly on: Day;
  readonly turnRounds: readonly FloorSum[];
}

/** The floor for the solver; undefined when nothing counts on that day. Kept for as long as the bay is. */
export function floorOfJob(of: BayOfJob): SurveyedFloor | undefined {
  if (!floors.has(of)) floors.set(of, floorKnown(of));
  return floors.get(of);
}

const floors = new WeakMap<BayOfJob, SurveyedFloor | undefined>();

/** A turn-round counts for as long as a survey does that states nothing else. */
const TURN_ROUND_DAYS = 180;

function counting(turnRounds: readonly FloorSum[], on: Day): FloorSum[] {
  return turnRounds.filter((s) => on <= expiryOf({ date: s.on, expiresDays: TURN_ROUND_DAYS }));
}

/** What was once known of the floor and no longer counts: nothing else is known of it on that day. */
export interface Expired {
  readonly what: 'survey' | 'turn-round';
  readonly on: Day;
}

/** Undefined when something still counts, or when nothing was ever known. */
export function expiredFloor({ bay, on, turnRounds }: BayOfJob): Expired | undefined {
  if (counting(turnRounds, on).length > 0) return undefined;
  const known = surveyState(bay, on);
  if (bay.survey !== undefined && known === 'expired') return { what: 'survey', on: expiryOf(bay.survey) };
  const last = turnRounds.at(-1)?.on;
  return known === 'surveyed' || last === undefined
    ? undefined
    : { what: 'turn-round', on: expiryOf({ date: last, expiresDays: TURN_ROUND_DAYS }) };
}

/** A turn-round that misses what the survey says by more than this many standard deviations puts the survey aside. */
const CONTRADICTS_SIGMAS = 3;

function contradicted(survey: SurveyedFloor, sums: readonly FloorSum[]): boolean {
  const places = sums.map((s) => s.places);
  const { floorMm, floorLengthMm } = ASSUMED_WIDTHS;
  const told = floorSums(survey, places, floorMm.value, floorLengthMm.value);
  return sums.some((s, i) => {
    const variance = (told?.covariance[i]?.[i] ?? 0) + s.standardUncertaintyMm ** 2;
    return Math.abs(s.valueMm - (told?.meanMm[i] ?? 0)) > CONTRADICTS_SIGMAS * Math.sqrt(variance);
  });
}

function floorKnown({ bay, on, turnRounds }: BayOfJob): SurveyedFloor | undefined {
  const sums = counting(turnRounds, on);
  const found = surveyedFloorOf(bay, on);
  const survey = found !== undefined && contradicted(found, sums) ? undefined : found;
  if (survey === undefined && sums.length === 0) return undefined;
  const { positionSdMm, headingSdDeg, ...standing } = bay.parking;
  const parking = { ...standing, xSdMm: positionSdMm, ySdMm: positionSdMm, headingSdDeg };
  // A turn-round alone does not show the floor's slope.
  const surveyed = survey ?? { rows: [], covariance: [], parking, slopeSd: FLOOR_SLOPE.value };
  const points = surveyed.rows.length;
  return {
    ...surveyed,
    rows: [...surveyed.rows, ...sums.map(({ places, valueMm }) => ({ places, valueMm }))],
    covariance: [
      ...surveyed.covariance,
      ...sums.map((s, i) => [...Array.from({ length: points + i }, () => 0), s.standardUncertaintyMm ** 2]),
    ],
  };
}

/** The survey is given up when the readings are this many times likelier without it: ln 2. */
const EVIDENCE_AGAINST = Math.LN2;

/**
 * Whether the readings of a job stand with the floor as surveyed: chi-square of the whitened rows, less what the same
 * readings have without the survey, and how much the survey should have narrowed them (the ratio of evidences). A misfit
 * that is as large without the survey is not the floor's. Measured: good surveys fail it on less than 1 % of jobs.
 */
export function floorHolds(surveyed: Solution, unsurveyed: () => Solution): boolean {
  return floorEvidence(surveyed, unsurveyed()) >= -EVIDENCE_AGAINST;
}

/** Logarithm of how many times likelier the readings are on the floor as surveyed. */
export function floorEvidence(surveyed: Solution, unsurveyed: Solution): number {
  return surveyed.logEvidence - unsurveyed.logEvidence;
}

/** A bay as the sheet shows it. */
export interface BayLine {
  readonly name: string;
  readonly invented: boolean;
  readonly state: SurveyState | 'disagrees';
  readonly surveyDate: Day | undefined;
  readonly expires: Day | undefined;
  readonly instrument: string | undefined;
  readonly misclosureMm: number | undefined;
  readonly turnedRoundOn: Day | undefined;
  /** What the sheet says of it, one sentence each. */
  readonly sentences: readonly string[];
}

export function bayLine(
  of: BayOfJob | undefined,
  disagrees: boolean,
  unevenness = 'counts as assumed',
): BayLine {
  if (of === undefined) {
    const sentences = [`Floor not surveyed: no bay was chosen; its unevenness ${unevenness}.`];
    return { ...NO_BAY, sentences };
  }
  const { bay, on, turnRounds } = of;
  const { survey } = bay;
  const result = surveyResult(bay);
  const known = surveyState(bay, on);
  const floor = surveyedFloorOf(bay, on);
  const turnedAgainst = floor !== undefined && contradicted(floor, counting(turnRounds, on));
  const state = disagrees || turnedAgainst ? 'disagrees' : known;
  const turned = turnRounds.at(-1)?.on;
  const stillCounts = counting(turnRounds, on).length > 0;
  const also =
    turned === undefined
      ? []
      : [`Checked by turning a machine round on ${turned}${stillCounts ? '' : ', which no longer counts'}.`];
  const line = {
    name: bay.name,
    invented: bay.invented,
    state,
    surveyDate: survey?.date,
    expires: survey === undefined ? undefined : expiryOf(survey),
    instrument: survey?.instrument,
    misclosureMm: result?.misclosureMm,
    turnedRoundOn: turned,
  } as const;
  const notices = result?.notices.map((n) => `${n.charAt(0).toUpperCase()}${n.slice(1)}.`) ?? [];
  return { ...line, sentences: [stateSentence(line, on, unevenness), ...also, ...notices] };
}

const NO_BAY = {
  name: '',
  invented: false,
  state: 'not surveyed',
  surveyDate: undefined,
  expires: undefined,
  instrument: undefined,
  misclosureMm: undefined,
  turnedRoundOn: undefined,
} as const;

function stateSentence(line: Omit<BayLine, 'sentences'>, on: Day, unevenness: string): string {
  const surveyed = `${line.name}, surveyed ${line.surveyDate ?? ''}`;
  switch (line.state) {
    case 'surveyed':
      return `${surveyed} with ${line.instrument ?? ''}, misclosure ${Math.abs(line.misclosureMm ?? 0).toFixed(2)} mm, good until ${line.expires ?? ''}.`;
    case 'expired':
      return `${surveyed}: expired on ${line.expires ?? ''}, not used on ${on}; unevenness of the floor ${unevenness}.`;
    case 'not usable':
      return `${surveyed}: the survey does not close and is not used; unevenness of the floor ${unevenness}.`;
    case 'disagrees':
      return `${surveyed}: readings disagree with the survey, so it was not used; survey the bay anew.`;
    case 'not surveyed':
      return `${line.name}: floor not surveyed; its unevenness ${unevenness}.`;
  }
}
