/** From readings to the deck's pose and the declared measures, each with its uncertainty. */
import {
  absorb,
  covariance,
  functional,
  priorInformation,
  solve,
  type Answer,
  type Estimate,
  type Information,
} from './engine';
import type { Layout, MeasureQuestion, TipReading, Widths } from './layout';
import { carriedByReadings, DETERMINED_SHARE, measureCoefficients } from './measures';
import { toFloat, zeros } from './number';
import { repeatsOf, type Repeats } from './repeats';
import { residualsOf, type Fit, type Residual } from './residuals';
import {
  addTip,
  designColumns,
  gainAt,
  HEIGHT,
  PLANE,
  readingCovariance,
  spindleAt,
  TILT_X,
  TILT_Y,
  tipModel,
  type Slopes,
  type TipModel,
} from './tip-model';
import { widenForTape } from './taped';
import { cholesky, logWhitening, whiten } from './whiten';

/** A number only where the readings carry it. */
export type Quantity =
  | { readonly determined: true; readonly value: number; readonly standardUncertainty: number }
  | { readonly determined: false };

export type MeasureResult =
  | {
      readonly name: string;
      readonly determined: true;
      readonly valueMm: number;
      readonly standardUncertaintyMm: number;
      /** Effective ones behind the uncertainty, where much of it rests on a width that was assumed; left out: many. */
      readonly degreesOfFreedom?: number;
    }
  | { readonly name: string; readonly determined: false };

/** The mean deck plane over the wheel plane: height z0 + slopeX x + slopeY y, over all seatings. */
export interface Pose {
  /** At the machine's origin. */
  readonly z0Mm: number;
  /** Rising forward, rising to the left. */
  readonly slopeX: number;
  readonly slopeY: number;
  /** Of (z0, slopeX, slopeY), by rows. */
  readonly covariance: readonly number[];
  /**
   * False when the readings cannot tell the deck's slope in that direction from a tilt of its spindles (always so on one
   * spindle): the value and its uncertainty then rest on the prior for tilt. Tip heights do not suffer.
   */
  readonly slopeXSeparate: boolean;
  readonly slopeYSeparate: boolean;
}

/** The height of one place of a blade's tip circle, mean of the two ends, for every place that was read. */
export interface TipResult {
  readonly spindle: number;
  readonly headingDeg: number;
  readonly heightMm: number;
  readonly standardUncertaintyMm: number;
}

/** What a spindle adds to the deck plane. */
export interface SpindleResult {
  readonly heightMm: Quantity;
  readonly tiltXRad: Quantity;
  readonly tiltYRad: Quantity;
  /** Height of end A above end B, as last fitted. */
  readonly bendMm: Quantity;
}

export interface Solution {
  readonly layout: Layout;
  readonly pose: Pose | 'not determined';
  /** In the order of the questions. */
  readonly measures: readonly MeasureResult[];
  /** Joint covariance of the measures, by rows; 0 where a measure is not determined. */
  readonly measureCovariance: readonly number[];
  readonly tips: readonly TipResult[];
  readonly spindles: readonly SpindleResult[];
  /** In the order of the readings. */
  readonly residuals: readonly Residual[];
  /** Sum of squares of the whitened readings against model and widths: tests the widths. */
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
  /** Estimated condition of the equations, columns scaled to length 1. */
  readonly condition: number;
  /** See `Estimate.logEvidence`. */
  readonly logEvidence: number;
}

/** Taken for the heading error where the readings do not show the slope: 20 mm in a metre (a guess on the safe side). */
const UNKNOWN_SLOPE = 0.02;
/**
 * Solves the tip model for any layout of spindles. The heading error is linearised at the slopes of a first pass. What the
 * readings do not carry is answered "not determined". Widths that are not finite or negative, or wheels in one line, leave
 * everything "not determined".
 */
export function solveTips(
  layout: Layout,
  readings: readonly TipReading[],
  widths: Widths,
  questions: readonly MeasureQuestion[],
): Solution {
  const repeats = repeatsOf(readings);
  const first = tipModel(layout, repeats.means, widths);
  const firstColumns = designColumns(first);
  const slopes = firstSlopes(first, repeats, firstColumns);
  const model = slopes === undefined ? first : withTape(first, slopes);
  const columns = model === first ? firstColumns : designColumns(model);
  const final = slopes === undefined ? undefined : fit(model, repeats, columns, slopes);
  if (final === undefined) return nothingDetermined(layout, readings, questions);
  const { estimate } = final;
  const { measures, measureCovariance } = answerQuestions(model, estimate, questions);
  return {
    layout,
    pose: poseOf(model, estimate),
    measures,
    measureCovariance,
    tips: tipsOf(model, estimate),
    spindles: spindlesOf(model, estimate),
    residuals: residualsOf(final),
    chiSquare: estimate.sumOfSquares,
    degreesOfFreedom: estimate.degreesOfFreedom,
    condition: estimate.condition,
    logEvidence: estimate.logEvidence,
  };
}

/** Geometry taken with a tape acts like spindles that are less well known, by the slopes found. */
function withTape(model: TipModel, slopes: Slopes): TipModel {
  const { layout, widths } = model;
  const { uncertaintyMm } = layout;
  if (uncertaintyMm === undefined) return model;
  return { ...model, widths: widenForTape(layout, uncertaintyMm, widths, slopes) };
}

function fit(
  model: TipModel,
  repeats: Repeats,
  columns: readonly (readonly number[])[],
  slopes: Slopes,
): Fit | undefined {
  const lower = cholesky(readingCovariance(model, slopes));
  if (lower === undefined) return undefined;
  const whitened: number[][] = [];
  for (const column of columns) whitened.push(whiten(lower, column, 0));
  const rows = {
    columns: whitened,
    observed: whiten(lower, model.observedMm, 0),
    logScale: logWhitening(lower),
  };
  const deviations: number[] = [];
  for (let j = 0; j < model.size; j++) deviations.push(j < PLANE ? Infinity : toFloat(1));
  const means = absorb(priorInformation(zeros(model.size), deviations), rows);
  return { model, repeats, lower, rows, estimate: solve(withContrasts(means, model, repeats)) };
}

/**
 * The contrasts among repeated captures show nothing but the fixture's scale: their rows are multiples of one, so they
 * come in as that one, and count as many as they are.
 */
function withContrasts(
  known: Information,
  model: TipModel,
  { scatter, contrasts, logScale }: Repeats,
): Information {
  if (contrasts === 0) return known;
  const columns: number[][] = [];
  for (let j = 0; j < model.size; j++) columns.push([toFloat(0)]);
  const root = Math.sqrt(scatter);
  columns[gainAt(model)][0] = model.widths.gain * root;
  const grown = absorb(known, { columns, observed: [root], logScale });
  return { ...grown, rows: known.rows + contrasts };
}

/** The slopes that a pass without heading errors finds. Its matrices are let go: the fixture has little memory. */
function firstSlopes(
  model: TipModel,
  repeats: Repeats,
  columns: readonly (readonly number[])[],
): Slopes | undefined {
  const none = zeros(model.layout.spindles.length);
  const first = fit(model, repeats, columns, { x: none, y: none, varianceX: none, varianceY: none });
  return first === undefined ? undefined : slopesOf(model, first.estimate);
}

function slopesOf(model: TipModel, estimate: Estimate): Slopes {
  const x: number[] = [];
  const y: number[] = [];
  const varianceX: number[] = [];
  const varianceY: number[] = [];
  for (let k = 0; k < model.layout.spindles.length; k++) {
    const forward = functional(estimate, slopeCoefficients(model, k, 1, TILT_X));
    const sideways = functional(estimate, slopeCoefficients(model, k, 2, TILT_Y));
    x.push(valueOr(forward, toFloat(0)));
    y.push(valueOr(sideways, toFloat(0)));
    varianceX.push(forward.determined ? forward.variance : UNKNOWN_SLOPE * UNKNOWN_SLOPE);
    varianceY.push(sideways.determined ? sideways.variance : UNKNOWN_SLOPE * UNKNOWN_SLOPE);
  }
  return { x, y, varianceX, varianceY };
}

function slopeCoefficients(model: TipModel, spindle: number, slope: number, tilt: number): number[] {
  const coefficients = zeros(model.size);
  coefficients[slope] = toFloat(1);
  coefficients[spindleAt(spindle) + tilt] = toFloat(model.widths.spindleTiltRad);
  return coefficients;
}

function valueOr(answer: Answer, otherwise: number): number {
  return answer.determined ? answer.value : otherwise;
}

function answerQuestions(
  model: TipModel,
  estimate: Estimate,
  questions: readonly MeasureQuestion[],
): { measures: MeasureResult[]; measureCovariance: number[] } {
  const measures: MeasureResult[] = [];
  const roots: (readonly number[])[] = [];
  for (const question of questions) {
    const coefficients = measureCoefficients(model, question);
    const answer = functional(estimate, coefficients);
    if (answer.determined && carriedByReadings(model, question, coefficients, answer.variance)) {
      measures.push({
        name: question.name,
        determined: true,
        valueMm: answer.value,
        standardUncertaintyMm: Math.sqrt(answer.variance),
      });
      roots.push(answer.root);
    } else {
      measures.push({ name: question.name, determined: false });
      roots.push(zeros(estimate.rank));
    }
  }
  const measureCovariance: number[] = [];
  for (const a of roots) for (const b of roots) measureCovariance.push(covariance(a, b));
  return { measures, measureCovariance };
}

function poseOf(model: TipModel, estimate: Estimate): Pose | 'not determined' {
  const height = zeros(model.size);
  height[0] = toFloat(1);
  height[1] = 0 - model.middle.xMm;
  height[2] = 0 - model.middle.yMm;
  const slopeX = zeros(model.size);
  slopeX[1] = toFloat(1);
  const slopeY = zeros(model.size);
  slopeY[2] = toFloat(1);
  const z = functional(estimate, height);
  const a = functional(estimate, slopeX);
  const b = functional(estimate, slopeY);
  if (!z.determined || !a.determined || !b.determined) return 'not determined';
  const joint: number[] = [];
  for (const p of [z, a, b]) for (const q of [z, a, b]) joint.push(covariance(p.root, q.root));
  return {
    z0Mm: z.value,
    slopeX: a.value,
    slopeY: b.value,
    covariance: joint,
    slopeXSeparate: tiltShows(model, estimate, TILT_X),
    slopeYSeparate: tiltShows(model, estimate, TILT_Y),
  };
}

/** Whether the readings show the mean tilt of the spindles that were read, apart from the deck's slope. */
function tiltShows(model: TipModel, estimate: Estimate, tilt: number): boolean {
  if (model.widths.spindleTiltRad === 0) return true;
  const coefficients = zeros(model.size);
  let count = 0;
  for (const station of model.stations) {
    const at = spindleAt(station.spindle) + tilt;
    if (coefficients[at] === 0) count += 1;
    coefficients[at] = toFloat(1);
  }
  const answer = functional(estimate, coefficients);
  return answer.determined && answer.variance < DETERMINED_SHARE * count;
}

function tipsOf(model: TipModel, estimate: Estimate): TipResult[] {
  const tips: TipResult[] = [];
  for (let s = 0; s < model.stations.length; s++) {
    const station = model.stations[s];
    let earlier = false;
    for (let t = 0; t < s; t++) {
      const other = model.stations[t];
      if (other.spindle === station.spindle && other.headingDeg === station.headingDeg) earlier = true;
    }
    if (!earlier) {
      const coefficients = zeros(model.size);
      addTip(model, coefficients, station, toFloat(1));
      const answer = functional(estimate, coefficients);
      // A place that was read is always determined: its own reading reaches it.
      if (answer.determined) {
        tips.push({
          spindle: station.spindle,
          headingDeg: station.headingDeg,
          heightMm: answer.value,
          standardUncertaintyMm: Math.sqrt(answer.variance),
        });
      }
    }
  }
  return tips;
}

function spindlesOf(model: TipModel, estimate: Estimate): SpindleResult[] {
  const results: SpindleResult[] = [];
  for (let k = 0; k < model.layout.spindles.length; k++) {
    const bend = { what: 'bend', name: '', spindle: k, targetMm: 0, lowerMm: 0, upperMm: 0 } as const;
    results.push({
      heightMm: nuisance(estimate, single(model, spindleAt(k) + HEIGHT, model.widths.spindleHeightMm)),
      tiltXRad: nuisance(estimate, single(model, spindleAt(k) + TILT_X, model.widths.spindleTiltRad)),
      tiltYRad: nuisance(estimate, single(model, spindleAt(k) + TILT_Y, model.widths.spindleTiltRad)),
      bendMm: nuisance(estimate, measureCoefficients(model, bend)),
    });
  }
  return results;
}

function single(model: TipModel, index: number, width: number): number[] {
  const coefficients = zeros(model.size);
  coefficients[index] = toFloat(width);
  return coefficients;
}

/** A functional of unknowns with priors N(0, 1): determined when the readings take half of its variance away. */
function nuisance(estimate: Estimate, coefficients: readonly number[]): Quantity {
  const answer = functional(estimate, coefficients);
  const prior = covariance(coefficients, coefficients);
  if (!answer.determined || !(answer.variance < DETERMINED_SHARE * prior)) return { determined: false };
  return { determined: true, value: answer.value, standardUncertainty: Math.sqrt(answer.variance) };
}

function nothingDetermined(
  layout: Layout,
  readings: readonly TipReading[],
  questions: readonly MeasureQuestion[],
): Solution {
  const measures: MeasureResult[] = [];
  for (const question of questions) measures.push({ name: question.name, determined: false });
  const residuals: Residual[] = [];
  for (let i = 0; i < readings.length; i++) residuals.push({ determined: false });
  const spindles: SpindleResult[] = [];
  const no: Quantity = { determined: false };
  for (let k = 0; k < layout.spindles.length; k++) {
    spindles.push({ heightMm: no, tiltXRad: no, tiltYRad: no, bendMm: no });
  }
  return {
    layout,
    pose: 'not determined',
    measures,
    measureCovariance: zeros(questions.length * questions.length),
    tips: [],
    spindles,
    residuals,
    chiSquare: toFloat(0),
    degreesOfFreedom: 0,
    condition: Infinity,
    logEvidence: -Infinity,
  };
}
