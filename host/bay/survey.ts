/** What a bay's survey comes to: heights, misclosure, wheel plane, what stands against it, and whether it counts on a day. */
import {
  adjustLevels,
  chiSquareAbove,
  type LevelAdjustment,
  type SurveyedFloor,
} from '../../protocol/solver';
import type { Bay, BaySurvey, Day } from './bay';
import { expiryOf } from './expiry';
import { wheelPlane, type WheelPlane } from './wheel-plane';

export interface SurveyResult {
  readonly adjustment: LevelAdjustment;
  /** The misclosure that comes nearest to its allowance or is farthest beyond it. */
  readonly misclosureMm: number;
  readonly allowanceMm: number;
  /** Least and greatest uncertainty of a point against the first one. */
  readonly uncertaintyMm: number;
  /** Probability of residuals as large as these, if the instrument is as good as stated. */
  readonly agreement: number;
  readonly wheels: WheelPlane | undefined;
  /** Why it cannot be used at all; empty when it can. */
  readonly faults: readonly SurveyFault[];
  /** What should be seen to, although the survey is good. */
  readonly notices: readonly string[];
}

export interface SurveyFault {
  readonly error: 'survey not checked' | 'survey does not close' | 'point not reached';
  readonly about: string;
}

/** A survey with less than one such chance is not what its instrument's uncertainty says. */
const LEAST_AGREEMENT = 0.001;

/** Undefined for a bay without a survey. */
export function surveyResult(bay: Bay): SurveyResult | undefined {
  const { survey } = bay;
  if (survey === undefined) return undefined;
  const adjustment = adjustLevels(networkOf(bay, survey));
  const worst = adjustment.misclosures.reduce(
    (most, m) => (Math.abs(m.valueMm) / m.allowanceMm > Math.abs(most.valueMm) / most.allowanceMm ? m : most),
    adjustment.misclosures[0] ?? { observation: -1, valueMm: 0, allowanceMm: 0 },
  );
  const uncertainties = adjustment.heights.map((h) => (h.determined ? h.standardUncertaintyMm : Infinity));
  const wheels = wheelPlane(
    bay.points.flatMap((p, i) => {
      const height = adjustment.heights[i];
      return p.wheel === true && height?.determined === true ? [{ ...p, heightMm: height.heightMm }] : [];
    }),
  );
  const agreement = chiSquareAbove(adjustment.chiSquare, adjustment.degreesOfFreedom);
  return {
    adjustment,
    misclosureMm: worst.valueMm,
    allowanceMm: worst.allowanceMm,
    uncertaintyMm: Math.max(...uncertainties),
    agreement,
    wheels,
    faults: faultsOf(bay, survey, adjustment, agreement),
    notices: noticesOf(bay, wheels),
  };
}

/** Whether the survey counts on that day, in one word. */
export type SurveyState = 'not surveyed' | 'surveyed' | 'expired' | 'not usable';

export function surveyState(bay: Bay, on: Day): SurveyState {
  const result = surveyResult(bay);
  if (bay.survey === undefined || result === undefined) return 'not surveyed';
  if (result.faults.length > 0) return 'not usable';
  return on > expiryOf(bay.survey) ? 'expired' : 'surveyed';
}

/** The floor for the solver; undefined unless the survey counts on that day. */
export function surveyedFloorOf(bay: Bay, on: Day): SurveyedFloor | undefined {
  const result = surveyResult(bay);
  if (result === undefined || surveyState(bay, on) !== 'surveyed') return undefined;
  const { positionSdMm, headingSdDeg, ...standing } = bay.parking;
  return {
    rows: bay.points.map(({ xMm, yMm }, i) => {
      const height = result.adjustment.heights[i];
      return {
        places: [{ xMm, yMm, weight: 1 }],
        valueMm: height?.determined === true ? height.heightMm : NaN,
      };
    }),
    covariance: result.adjustment.covariance,
    parking: { ...standing, xSdMm: positionSdMm, ySdMm: positionSdMm, headingSdDeg },
  };
}

/** Place of a point by its name; the file has been checked. */
function networkOf(bay: Bay, survey: BaySurvey) {
  const place = new Map(bay.points.map((p, i) => [p.name, i]));
  const at = (name: string) => place.get(name) ?? -1;
  const standardUncertaintyMm = survey.expandedUncertaintyMm / 2;
  return {
    points: bay.points.length,
    staff: survey.staff.map((s) => ({
      setUp: s.setUp,
      point: at(s.point),
      readingMm: s.readingMm,
      standardUncertaintyMm,
    })),
    steps: survey.steps.map((s) => ({
      from: at(s.from),
      to: at(s.to),
      riseMm: s.riseMm,
      standardUncertaintyMm,
    })),
  };
}

function faultsOf(
  bay: Bay,
  survey: BaySurvey,
  adjustment: LevelAdjustment,
  agreement: number,
): SurveyFault[] {
  const missing = bay.points.filter((_, i) => adjustment.heights[i]?.determined !== true).map((p) => p.name);
  if (missing.length > 0) return [{ error: 'point not reached', about: missing.join(', ') }];
  if (adjustment.degreesOfFreedom === 0 || adjustment.misclosures.length === 0)
    return [{ error: 'survey not checked', about: 'every point was read once only' }];
  const open = adjustment.misclosures.filter((m) => Math.abs(m.valueMm) > m.allowanceMm);
  if (open.length === 0 && agreement >= LEAST_AGREEMENT) return [];
  const first = open[0];
  const misses =
    first === undefined
      ? `residuals as large as these have a chance of ${agreement.toExponential(0)}`
      : `misses ${Math.abs(first.valueMm).toFixed(2)} mm, allowed ${first.allowanceMm.toFixed(2)} mm`;
  const suspect =
    adjustment.suspect < 0 ? '' : `; look first at ${observationText(survey, adjustment.suspect)}`;
  return [{ error: 'survey does not close', about: misses + suspect }];
}

function observationText({ staff, steps }: BaySurvey, index: number): string {
  const reading = staff[index];
  if (reading !== undefined) return `the staff on ${reading.point} from set-up ${reading.setUp}`;
  const step = steps[index - staff.length];
  return step === undefined ? 'none' : `the step from ${step.from} to ${step.to}`;
}

function noticesOf(bay: Bay, wheels: WheelPlane | undefined): string[] {
  if (wheels === undefined) return [];
  const slope = Math.sqrt(wheels.slopeX ** 2 + wheels.slopeY ** 2);
  const notices: string[] = [];
  if (slope > bay.slopeLimitMmPerM) {
    notices.push(
      `the wheel spots slope ${slope.toFixed(1)} mm in a metre, limit ${bay.slopeLimitMmPerM}: level them, or use another bay`,
    );
  }
  const shim = wheels.shims[0];
  if (wheels.twistMm > bay.twistLimitMm && shim !== undefined) {
    notices.push(
      `the wheel spots are twisted by ${wheels.twistMm.toFixed(1)} mm, shop limit ${bay.twistLimitMm}: a shim of ${shim.heightMm.toFixed(1)} mm on ${shim.spot} nulls it`,
    );
  }
  return notices;
}
