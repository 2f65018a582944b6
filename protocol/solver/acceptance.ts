/** How often a machine whose measures are known would be accepted, before anything is read. */
import type { MeasureLimits } from './layout';
import { normalBelow, normalQuantile } from './normal';
import { toFloat, zeros } from './number';
import { ACCEPT_JOINT_PROBABILITY } from './result';

/** Farther inside its limits than this many standard deviations a measure adds less than 1e-9 to the sum. */
const FAR_INSIDE = 6;
/** What the tails of all measures together may hold, and a distance nearer than which one tail alone holds more. */
const MOST_OUTSIDE = 1 - ACCEPT_JOINT_PROBABILITY;
const REFUSED = 2.05;
/** Estimates are never so many standard deviations off: one in 1e12. */
const NEVER = 7;

/**
 * Probability that `judge` accepts when every measure is truly at `trueMm` (left out: on its target) and the estimates
 * scatter about that with the joint covariance given, by rows. Counted over an even sequence of points (multiples of powers
 * of the inverse of the root of x^(d+1) = x + 1, after M. Roberts, 2018), so the answer is the same every time.
 */
export function acceptedShare(
  limits: readonly MeasureLimits[],
  covariance: readonly number[],
  points: number,
  trueMm?: readonly number[],
): number {
  return acceptedShareAt(evenNormals(limits.length, points), limits, covariance, trueMm);
}

/** The same over given points, each as many standard normals as there are measures. */
export function acceptedShareAt(
  points: readonly (readonly number[])[],
  limits: readonly MeasureLimits[],
  covariance: readonly number[],
  trueMm?: readonly number[],
): number {
  const count = limits.length;
  if (count === 0) return toFloat(0);
  const root = lowerRoot(covariance, count);
  const deviations: number[] = [];
  for (let i = 0; i < count; i++) {
    const variance = covariance[i * count + i];
    deviations.push(variance > 0 ? Math.sqrt(variance) : toFloat(0));
  }
  let accepted = 0;
  for (const normals of points) {
    let outside = toFloat(0);
    for (let i = 0; i < count && outside <= MOST_OUTSIDE; i++) {
      let value = toFloat(trueMm === undefined ? limits[i].targetMm : trueMm[i]);
      for (let j = 0; j <= i; j++) value += root[i * count + j] * normals[j];
      outside += beyond(value - limits[i].lowerMm, deviations[i]);
      outside += beyond(limits[i].upperMm - value, deviations[i]);
    }
    if (outside <= MOST_OUTSIDE) accepted += 1;
  }
  return accepted / toFloat(points.length);
}

/** Probability beyond a limit at this distance; 1 where that alone is too much to accept. */
function beyond(margin: number, deviation: number): number {
  if (margin < REFUSED * deviation) return toFloat(1);
  return margin < FAR_INSIDE * deviation ? normalBelow((0 - margin) / deviation) : toFloat(0);
}

/** Evenly spread points as standard normals; those asked for last are kept, for a search asks for the same ones over and over. */
export function evenNormals(count: number, points: number): readonly (readonly number[])[] {
  if (kept.count !== count || kept.points !== points) kept = { count, points, list: spread(count, points) };
  return kept.list;
}

let kept: { count: number; points: number; list: readonly (readonly number[])[] } = {
  count: 0,
  points: 0,
  list: [],
};

function spread(count: number, points: number): number[][] {
  const steps = evenSteps(count);
  const at = zeros(count);
  for (let i = 0; i < count; i++) at[i] = toFloat(0.5);
  const list: number[][] = [];
  for (let point = 0; point < points; point++) {
    const normals = zeros(count);
    for (let i = 0; i < count; i++) {
      const moved = at[i] + steps[i];
      at[i] = moved < 1 ? moved : moved - 1;
      normals[i] = normalQuantile(at[i]);
    }
    list.push(normals);
  }
  return list;
}

/** Probability that a normal estimate of the given scatter falls between two bounds about the true value. */
export function between(lower: number, upper: number, deviation: number): number {
  if (!(upper > lower)) return toFloat(0);
  if (!(deviation > 0)) return toFloat(lower <= 0 && upper >= 0 ? 1 : 0);
  const from = lower / deviation;
  const until = upper / deviation;
  if (until < 0 - NEVER || from > NEVER) return toFloat(0);
  const share = (until > NEVER ? 1 : normalBelow(until)) - (from < 0 - NEVER ? 0 : normalBelow(from));
  return share > 0 ? share : toFloat(0);
}

function evenSteps(count: number): number[] {
  let ratio = toFloat(2);
  for (let round = 0; round < 60; round++) ratio = rootOf(1 + ratio, count + 1, ratio);
  const steps: number[] = [];
  let step = toFloat(1);
  for (let i = 0; i < count; i++) {
    step /= ratio;
    steps.push(step);
  }
  return steps;
}

/** The root of x^power = value near a guess, by Newton's method: powers as products agree in both runtimes. */
function rootOf(value: number, power: number, guess: number): number {
  let x = toFloat(guess);
  for (let round = 0; round < 8; round++) {
    let raised = toFloat(1);
    for (let i = 1; i < power; i++) raised *= x;
    x -= (raised * x - value) / (power * raised);
  }
  return x;
}

/** Cholesky: a lower triangle whose product with its transpose is the matrix; a measure that follows from others gets a 0. */
function lowerRoot(matrix: readonly number[], size: number): number[] {
  const root = zeros(size * size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let rest = toFloat(matrix[i * size + j]);
      for (let k = 0; k < j; k++) rest -= root[i * size + k] * root[j * size + k];
      if (i === j) root[i * size + i] = rest > 0 ? Math.sqrt(rest) : toFloat(0);
      else root[i * size + j] = root[j * size + j] > 0 ? rest / root[j * size + j] : toFloat(0);
    }
  }
  return root;
}
