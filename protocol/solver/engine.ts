/**
 * The linear-Gaussian engine, in square-root information form (G. J. Bierman, Factorization Methods for Discrete
 * Sequential Estimation, 1977).
 *
 * What is known about an unknown vector x is kept as an upper triangle R and a vector z, meaning that the negative
 * logarithm of its density is |R x - z|^2 / 2. Knowing nothing is R = 0, so a vague prior needs no large number, and the
 * covariance, which loses the answer to cancellation when a prior is vague, is never formed.
 */
import { logarithm, toFloat, zeros } from './number';

/** Everything known about the unknowns. Made by `noInformation` or `priorInformation`, grown by `absorb`. */
export interface Information {
  readonly size: number;
  /** Row i of R, full length, zeros left of the diagonal. */
  readonly triangle: readonly (readonly number[])[];
  readonly rhs: readonly number[];
  /** What the observations and the prior disagree by: the least value of the sum of squares. */
  readonly sumOfSquares: number;
  /** Observations absorbed, each unknown with a proper prior counted as one. */
  readonly rows: number;
  /** Logarithm of the product of the priors' and the whitening's scale factors, for the evidence. */
  readonly logScale: number;
}

/** Rows of an observation equation y = H x + e, whitened: e has unit variance and no correlation. */
export interface Rows {
  /** Column j of H for each unknown j, each as long as `observed`. */
  readonly columns: readonly (readonly number[])[];
  readonly observed: readonly number[];
  /** Logarithm of the determinant of the whitening matrix; 0 when the evidence is not wanted. */
  readonly logScale: number;
}

/** A triangle solved. Made by `solve`, asked by `functional`. */
export interface Estimate {
  readonly size: number;
  /** How many directions of the unknown vector are known at all. */
  readonly rank: number;
  /** Least sum of squares, and rows less rank. */
  readonly sumOfSquares: number;
  readonly degreesOfFreedom: number;
  /** Ratio of the largest to the smallest pivot of the known part, columns scaled to length 1: estimates the condition. */
  readonly condition: number;
  /**
   * Logarithm of the density of the observations with the unknowns integrated out. A vague unknown counts with density 1,
   * so only models with the same vague unknowns compare. Minus infinity while the rank is short.
   */
  readonly logEvidence: number;
  /** Inside: unknown at each pivot, length of each unknown's column, rotated triangle and right-hand side. */
  readonly order: readonly number[];
  readonly scale: readonly number[];
  readonly triangle: readonly (readonly number[])[];
  readonly rhs: readonly number[];
}

/** The answer about a linear functional c.x: a number only when the information reaches it. */
export type Answer =
  | {
      readonly determined: true;
      readonly value: number;
      readonly variance: number;
      /** Square root of the covariance: the covariance of two functionals is the product of their roots. */
      readonly root: readonly number[];
    }
  | { readonly determined: false };

/** Pivots below this share of the largest are noise of rounding, not information. */
const RANK_TOLERANCE = 1e-14;
/** A functional may stick out of the known directions by this share of its length. */
const REACH_TOLERANCE = 1e-9;

/** Nothing known about `size` unknowns: least squares comes out. */
export function noInformation(size: number): Information {
  const triangle: number[][] = [];
  for (let i = 0; i < size; i++) triangle.push(zeros(size));
  return { size, triangle, rhs: zeros(size), sumOfSquares: toFloat(0), rows: 0, logScale: toFloat(0) };
}

/** Independent normal priors; a standard deviation of Infinity means that nothing is known. All others must be positive. */
export function priorInformation(means: readonly number[], deviations: readonly number[]): Information {
  const size = means.length;
  const triangle: number[][] = [];
  const rhs = zeros(size);
  let rows = 0;
  let logScale = toFloat(0);
  for (let i = 0; i < size; i++) {
    const row = zeros(size);
    triangle.push(row);
    const deviation = deviations[i];
    if (deviation !== Infinity) {
      row[i] = 1 / deviation;
      rhs[i] = means[i] / deviation;
      rows += 1;
      logScale -= logarithm(deviation);
    }
  }
  return { size, triangle, rhs, sumOfSquares: toFloat(0), rows, logScale };
}

/** Adds observations by one Householder QR of the triangle stacked over the rows. */
export function absorb(known: Information, rows: Rows): Information {
  const { size } = known;
  const count = rows.observed.length;
  const triangle: number[][] = [];
  for (let i = 0; i < size; i++) triangle.push(floats(known.triangle[i]));
  const rhs = floats(known.rhs);
  // The right-hand side is carried along as one column more.
  const columns: number[][] = [];
  for (let j = 0; j < size; j++) columns.push(floats(rows.columns[j]));
  columns.push(floats(rows.observed));
  for (let j = 0; j < size; j++) {
    const pivot = columns[j];
    const row = triangle[j];
    let squares = toFloat(0);
    for (let i = 0; i < count; i++) squares += pivot[i] * pivot[i];
    if (squares === 0) continue;
    const diagonal = row[j];
    const length = Math.sqrt(diagonal * diagonal + squares);
    const sign = diagonal < 0 ? -1 : 1;
    const head = diagonal + sign * length;
    const halfNorm = length * Math.abs(head);
    row[j] = 0 - sign * length;
    for (let c = j + 1; c <= size; c++) {
      const column = columns[c];
      const top = c < size ? row[c] : rhs[j];
      let dot = head * top;
      for (let i = 0; i < count; i++) dot += pivot[i] * column[i];
      const factor = dot / halfNorm;
      if (c < size) row[c] = top - factor * head;
      else rhs[j] = top - factor * head;
      for (let i = 0; i < count; i++) column[i] = column[i] - factor * pivot[i];
    }
  }
  let sumOfSquares = known.sumOfSquares;
  const rest = columns[size];
  for (let i = 0; i < count; i++) sumOfSquares += rest[i] * rest[i];
  return {
    size,
    triangle,
    rhs,
    sumOfSquares,
    rows: known.rows + count,
    logScale: known.logScale + rows.logScale,
  };
}

/** Turns information into an estimate: a second QR with column pivoting shows which directions are known. */
export function solve(known: Information): Estimate {
  const { size } = known;
  const { columns, scale } = scaledColumns(known);
  const rhs = floats(known.rhs);
  const order: number[] = [];
  for (let j = 0; j < size; j++) order.push(j);
  const norms: number[] = [];
  for (let j = 0; j < size; j++) norms.push(squaresBelow(columns[j], 0));
  let rank = 0;
  let logDeterminant = toFloat(0);
  let first = toFloat(0);
  let last = toFloat(0);
  for (let k = 0; k < size; k++) {
    let best = k;
    for (let j = k + 1; j < size; j++) if (norms[j] > norms[best]) best = j;
    swap(columns, k, best);
    swap(order, k, best);
    swap(norms, k, best);
    const length = reflect(columns, rhs, k, size);
    if (k === 0) first = length;
    if (!(length > RANK_TOLERANCE * first)) break;
    rank = k + 1;
    last = length;
    logDeterminant += logarithm(length) + logarithm(scale[order[k]]);
    // Downdating the norms cancels, and the sizes here are small: they are computed afresh.
    for (let j = k + 1; j < size; j++) norms[j] = squaresBelow(columns[j], k + 1);
  }
  let sumOfSquares = known.sumOfSquares;
  for (let k = rank; k < size; k++) sumOfSquares += rhs[k] * rhs[k];
  const evidence =
    known.logScale - logDeterminant - sumOfSquares / 2 - ((known.rows - size) / 2) * logarithm(2 * Math.PI);
  return {
    size,
    rank,
    sumOfSquares,
    degreesOfFreedom: known.rows - rank,
    condition: rank === 0 ? Infinity : first / last,
    logEvidence: rank === size ? evidence : -Infinity,
    order,
    scale,
    triangle: columns,
    rhs,
  };
}

/** What is known about c.x, where c is given by its coefficients. */
export function functional(estimate: Estimate, coefficients: readonly number[]): Answer {
  const { size, rank, order, scale, triangle, rhs } = estimate;
  const root = zeros(rank);
  let value = toFloat(0);
  let variance = toFloat(0);
  let outside = toFloat(0);
  let whole = toFloat(0);
  for (let k = 0; k < size; k++) {
    const column = triangle[k];
    const c = coefficients[order[k]] / scale[order[k]];
    whole += c * c;
    let rest = toFloat(c);
    const end = k < rank ? k : rank;
    for (let i = 0; i < end; i++) rest -= column[i] * root[i];
    if (k < rank) {
      const w = rest / column[k];
      root[k] = w;
      value += w * rhs[k];
      variance += w * w;
    } else outside += rest * rest;
  }
  if (outside > REACH_TOLERANCE * REACH_TOLERANCE * whole) return { determined: false };
  return { determined: true, value, variance, root };
}

/** Covariance of two determined functionals. */
export function covariance(a: readonly number[], b: readonly number[]): number {
  let sum = toFloat(0);
  for (let i = 0; i < a.length; i++) sum += toFloat(a[i]) * b[i];
  return sum;
}

/** The whole mean vector, or undefined while the rank is short. */
export function mean(estimate: Estimate): number[] | undefined {
  const { size, rank, order, scale, triangle, rhs } = estimate;
  if (rank < size) return undefined;
  const result = zeros(size);
  const x = zeros(size);
  for (let k = size - 1; k >= 0; k--) {
    let rest = rhs[k];
    for (let j = k + 1; j < size; j++) rest -= triangle[j][k] * x[j];
    x[k] = rest / triangle[k][k];
    result[order[k]] = x[k] / scale[order[k]];
  }
  return result;
}

/**
 * How a coming whitened observation would stand to what is known: its residual (observed less predicted) and the variance
 * of that residual, noise included.
 */
export function predictiveResidual(
  estimate: Estimate,
  coefficients: readonly number[],
  observed: number,
): Answer {
  const predicted = functional(estimate, coefficients);
  if (!predicted.determined) return predicted;
  return {
    determined: true,
    value: observed - predicted.value,
    variance: 1 + predicted.variance,
    root: predicted.root,
  };
}

function floats(list: readonly number[]): number[] {
  const copy: number[] = [];
  for (let i = 0; i < list.length; i++) copy.push(toFloat(list[i]));
  return copy;
}

function squaresBelow(column: readonly number[], from: number): number {
  let sum = toFloat(0);
  for (let i = from; i < column.length; i++) sum += column[i] * column[i];
  return sum;
}

function swap<T>(list: T[], a: number, b: number): void {
  const held = list[a];
  list[a] = list[b]!;
  list[b] = held;
}

/** The triangle by columns, each scaled to length 1, so that units do not decide what counts as known. */
function scaledColumns(known: Information): { columns: number[][]; scale: number[] } {
  const columns: number[][] = [];
  const scale: number[] = [];
  for (let j = 0; j < known.size; j++) {
    const column: number[] = [];
    for (let i = 0; i < known.size; i++) column.push(known.triangle[i][j]);
    const length = Math.sqrt(squaresBelow(column, 0));
    const divisor = length > 0 ? length : toFloat(1);
    for (let i = 0; i < known.size; i++) column[i] = column[i] / divisor;
    columns.push(column);
    scale.push(divisor);
  }
  return { columns, scale };
}

/** Clears column k below its diagonal; gives the length of what stood there. */
function reflect(columns: number[][], rhs: number[], k: number, size: number): number {
  const pivot = columns[k];
  const length = Math.sqrt(squaresBelow(pivot, k));
  if (length === 0) return length;
  const sign = pivot[k] < 0 ? -1 : 1;
  const head = pivot[k] + sign * length;
  const halfNorm = length * Math.abs(head);
  pivot[k] = head;
  for (let j = k + 1; j <= size; j++) {
    const column = j < size ? columns[j] : rhs;
    let dot = toFloat(0);
    for (let i = k; i < size; i++) dot += pivot[i] * column[i];
    const factor = dot / halfNorm;
    for (let i = k; i < size; i++) column[i] = column[i] - factor * pivot[i];
  }
  pivot[k] = 0 - sign * length;
  return length;
}
