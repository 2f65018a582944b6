/**
 * The floor where something is known of it: a Gaussian process conditional on a survey.
 *
 * The floor is a plane of unknown height and slope, plus unevenness of mean zero with a squared-exponential covariance.
 * Given the survey's rows, what is asked is F(spot) - G(tip) at every place that was read, mean and covariance (universal
 * kriging: G. Matheron, 1969; C. E. Rasmussen & C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, 2.7).
 * Where the machine stands in the bay is not known exactly: that counts by the slopes of the mean floor.
 */
import { absorb, covariance, functional, priorInformation, solve, type Estimate } from './engine';
import { alike, groundWeights, type TipAndSpot } from './ground';
import type { Layout, Parking, Point, SurveyedFloor } from './layout';
import { cosSinDeg, toFloat, zeros } from './number';
import { cholesky, whiten, type Lower } from './whiten';

/** F(spot) - G(tip) at the places asked: mean, and covariance as lower triangle by rows. */
export interface KnownFloor {
  readonly meanMm: readonly number[];
  readonly covariance: readonly (readonly number[])[];
}

/** So little is asked of the plane that no bay is outside: a metre of height, a slope of 5 in 100. */
const HEIGHT_DEVIATION_MM = 1000;
const SLOPE_DEVIATION = 0.05;
/** Keeps two rows about one place from being one row twice. */
const LEAST_VARIANCE_MM2 = 1e-6;
const RADIANS_PER_DEGREE = 0.017453292519943295;

/** Undefined when the survey's covariance is none. */
export function surveyedFloor(
  layout: Layout,
  survey: SurveyedFloor,
  places: readonly TipAndSpot[],
  floorMm: number,
  floorLengthMm: number,
): KnownFloor | undefined {
  const field = conditioned(survey, floorMm, floorLengthMm);
  if (field === undefined) return undefined;
  const plane = groundWeights(layout);
  const asked: Asked[] = [];
  for (const place of places) {
    const points: Weighted[] = [weightedAt(survey.parking, place.spot, toFloat(1))];
    for (let i = 0; i < layout.wheels.length; i++) {
      const weight = plane.at0[i] + plane.perX[i] * place.xMm + plane.perY[i] * place.yMm;
      points.push(weightedAt(survey.parking, layout.wheels[i], 0 - weight));
    }
    asked.push(askField(field, points));
  }
  const { xSdMm, ySdMm, headingSdDeg } = survey.parking;
  return known(field, asked, xSdMm, ySdMm, headingSdDeg * RADIANS_PER_DEGREE);
}

/**
 * What the survey says of weighted sums of floor heights at exact places in the bay's frame. Undefined when its covariance
 * is none.
 */
export function floorSums(
  survey: SurveyedFloor,
  sums: readonly SurveyedFloor['rows'][number]['places'][],
  floorMm: number,
  floorLengthMm: number,
): KnownFloor | undefined {
  const field = conditioned(survey, floorMm, floorLengthMm);
  if (field === undefined) return undefined;
  const asked: Asked[] = [];
  for (const places of sums) {
    const points: Weighted[] = [];
    for (const { xMm, yMm, weight } of places) {
      points.push({
        xMm: toFloat(xMm),
        yMm: toFloat(yMm),
        weight: toFloat(weight),
        turnX: toFloat(0),
        turnY: toFloat(0),
      });
    }
    asked.push(askField(field, points));
  }
  return known(field, asked, toFloat(0), toFloat(0), toFloat(0));
}

function known(
  field: Field,
  asked: readonly Asked[],
  xSdMm: number,
  ySdMm: number,
  headingSd: number,
): KnownFloor {
  const variance = field.sdMm * field.sdMm;
  const meanMm: number[] = [];
  const rows: number[][] = [];
  for (let s = 0; s < asked.length; s++) {
    const a = asked[s];
    meanMm.push(a.mean);
    const row: number[] = [];
    for (let t = 0; t <= s; t++) {
      const b = asked[t];
      let sum = variance * between(a.points, b.points, field.lengthMm);
      sum += covariance(a.root, b.root) - covariance(a.seen, b.seen);
      sum += a.perX * b.perX * xSdMm * xSdMm + a.perY * b.perY * ySdMm * ySdMm;
      sum += a.perHeading * b.perHeading * headingSd * headingSd;
      row.push(sum);
    }
    rows.push(row);
  }
  return { meanMm, covariance: rows };
}

/** A place in the bay with its weight, and the way it moves per radian when the machine stands turned. */
interface Weighted extends Point {
  readonly weight: number;
  readonly turnX: number;
  readonly turnY: number;
}

/** The process with the survey taken in. */
interface Field {
  readonly rows: SurveyedFloor['rows'];
  readonly sdMm: number;
  readonly lengthMm: number;
  readonly lower: Lower;
  /** The rows' coefficients of the plane, whitened, by columns. */
  readonly planes: readonly (readonly number[])[];
  readonly estimate: Estimate;
  /** Inverse covariance times what the rows say beyond the plane: weights of the mean field. */
  readonly pull: readonly number[];
  /** Height at the bay's origin and slopes of the floor's plane. */
  readonly plane: readonly number[];
}

function conditioned(survey: SurveyedFloor, floorMm: number, floorLengthMm: number): Field | undefined {
  const { rows } = survey;
  const variance = toFloat(floorMm) * floorMm;
  const full: number[][] = [];
  for (let i = 0; i < rows.length; i++) {
    const row: number[] = [];
    for (let j = 0; j <= i; j++) {
      row.push(
        survey.covariance[i][j] + variance * between(rows[i].places, rows[j].places, toFloat(floorLengthMm)),
      );
    }
    row[i] = row[i] + LEAST_VARIANCE_MM2;
    full.push(row);
  }
  const lower = cholesky(full);
  if (lower === undefined) return undefined;
  const observed: number[] = [];
  const columns: number[][] = [[], [], []];
  for (const row of rows) {
    observed.push(toFloat(row.valueMm));
    const coefficients = planeOf(row.places);
    for (let c = 0; c < 3; c++) columns[c].push(coefficients[c]);
  }
  const planes: number[][] = [];
  for (const column of columns) planes.push(whiten(lower, column, 0));
  const whitened = whiten(lower, observed, 0);
  const slopeSd = survey.slopeSd ?? SLOPE_DEVIATION;
  const prior = priorInformation(zeros(3), [HEIGHT_DEVIATION_MM, slopeSd, slopeSd]);
  const estimate = solve(absorb(prior, { columns: planes, observed: whitened, logScale: toFloat(0) }));
  const beta = planeEstimate(estimate);
  const beyond: number[] = [];
  for (let i = 0; i < rows.length; i++) {
    let rest = whitened[i];
    for (let c = 0; c < 3; c++) rest -= planes[c][i] * beta[c];
    beyond.push(rest);
  }
  return {
    rows,
    sdMm: toFloat(floorMm),
    lengthMm: toFloat(floorLengthMm),
    lower,
    planes,
    estimate,
    pull: unwhiten(lower, beyond),
    plane: beta,
  };
}

function planeEstimate(estimate: Estimate): number[] {
  const beta: number[] = [];
  for (let c = 0; c < 3; c++) {
    const unit = zeros(3);
    unit[c] = toFloat(1);
    const answer = functional(estimate, unit);
    beta.push(answer.determined ? answer.value : toFloat(0));
  }
  return beta;
}

/** What the field says of a weighted sum of floor heights. */
interface Asked {
  readonly points: readonly Weighted[];
  readonly mean: number;
  /** Whitened covariance with the survey's rows; what the plane leaves open. */
  readonly seen: readonly number[];
  readonly root: readonly number[];
  /** How the mean changes as the machine stands forward, to the left, turned. */
  readonly perX: number;
  readonly perY: number;
  readonly perHeading: number;
}

function askField(field: Field, points: readonly Weighted[]): Asked {
  const variance = field.sdMm * field.sdMm;
  const square = field.lengthMm * field.lengthMm;
  const near: number[] = [];
  let perX = toFloat(0);
  let perY = toFloat(0);
  let perHeading = toFloat(0);
  for (let i = 0; i < field.rows.length; i++) {
    let sum = toFloat(0);
    for (const place of field.rows[i].places) {
      for (const point of points) {
        const k = point.weight * place.weight * variance * alike(point, place, field.lengthMm);
        sum += k;
        // The derivative of the squared exponential along each axis.
        const pull = 0 - (k * field.pull[i]) / square;
        const x = pull * (point.xMm - place.xMm);
        const y = pull * (point.yMm - place.yMm);
        perX += x;
        perY += y;
        perHeading += x * point.turnX + y * point.turnY;
      }
    }
    near.push(sum);
  }
  for (const point of points) {
    perX += point.weight * field.plane[1];
    perY += point.weight * field.plane[2];
    perHeading += point.weight * (field.plane[1] * point.turnX + field.plane[2] * point.turnY);
  }
  const seen = whiten(field.lower, near, 0);
  const left = planeOf(points);
  for (let c = 0; c < 3; c++) left[c] = left[c] - covariance(field.planes[c], seen);
  const answer = functional(field.estimate, left);
  const open = answer.determined ? answer.root : zeros(3);
  return { points, mean: meanOf(field, near, points), seen, root: open, perX, perY, perHeading };
}

function meanOf(field: Field, near: readonly number[], points: readonly Weighted[]): number {
  const coefficients = planeOf(points);
  let mean = toFloat(0);
  for (let c = 0; c < 3; c++) mean += coefficients[c] * field.plane[c];
  for (let i = 0; i < near.length; i++) mean += near[i] * field.pull[i];
  return mean;
}

function planeOf(points: readonly (Point & { readonly weight: number })[]): number[] {
  const sums = zeros(3);
  for (const point of points) {
    sums[0] = sums[0] + point.weight;
    sums[1] = sums[1] + point.weight * point.xMm;
    sums[2] = sums[2] + point.weight * point.yMm;
  }
  return sums;
}

/** Covariance of two weighted sums of heights, in units of the floor's variance. */
function between(
  a: readonly (Point & { readonly weight: number })[],
  b: readonly (Point & { readonly weight: number })[],
  lengthMm: number,
): number {
  let sum = toFloat(0);
  for (const p of a) for (const q of b) sum += p.weight * q.weight * alike(p, q, lengthMm);
  return sum;
}

/** L^-T v. */
function unwhiten(lower: Lower, vector: readonly number[]): number[] {
  const result = zeros(vector.length);
  for (let i = vector.length - 1; i >= 0; i--) {
    let sum = toFloat(vector[i]);
    for (let k = i + 1; k < vector.length; k++) sum -= lower[k][i] * result[k];
    result[i] = sum / lower[i][i];
  }
  return result;
}

/** A place of the machine in the bay. */
function weightedAt(parking: Parking, place: Point, weight: number): Weighted {
  const { cos, sin } = cosSinDeg(parking.headingDeg);
  const forward = cos * place.xMm - sin * place.yMm;
  const left = sin * place.xMm + cos * place.yMm;
  return {
    xMm: parking.xMm + forward,
    yMm: parking.yMm + left,
    weight: toFloat(weight),
    turnX: 0 - left,
    turnY: forward,
  };
}
