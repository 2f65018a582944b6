/** How often a machine whose measures are known would be accepted, before anything is read. */
import type { MeasureLimits } from './layout';
import { normalBelow, normalQuantile } from './normal';
import { toFloat, zeros } from './number';
import { ACCEPT_JOINT_PROBABILITY, probabilityOutside } from './result';

/** Farther inside its limits than this many standard deviations a measure adds less than 1e-9 to the sum. */
const FAR_INSIDE = 6;

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
  const count = limits.length;
  if (count === 0) return toFloat(0);
  const root = lowerRoot(covariance, count);
  const deviations: number[] = [];
  for (let i = 0; i < count; i++) {
    const variance = covariance[i * count + i];
    deviations.push(variance > 0 ? Math.sqrt(variance) : toFloat(0));
  }
  const steps = evenSteps(count);
  const at = zeros(count);
  for (let i = 0; i < count; i++) at[i] = toFloat(0.5);
  const normals = zeros(count);
  let accepted = 0;
  for (let point = 0; point < points; point++) {
    for (let i = 0; i < count; i++) {
      const moved = at[i] + steps[i];
      at[i] = moved < 1 ? moved : moved - 1;
      normals[i] = normalQuantile(at[i]);
    }
    let outside = toFloat(0);
    for (let i = 0; i < count; i++) {
      let value = toFloat(trueMm === undefined ? limits[i].targetMm : trueMm[i]);
      for (let j = 0; j <= i; j++) value += root[i * count + j] * normals[j];
      const margin = FAR_INSIDE * deviations[i];
      if (value - limits[i].lowerMm < margin || limits[i].upperMm - value < margin) {
        outside += probabilityOutside(value, deviations[i], limits[i]);
      }
    }
    if (1 - outside >= ACCEPT_JOINT_PROBABILITY) accepted += 1;
  }
  return accepted / toFloat(points);
}

/** Probability that a normal estimate of the given scatter falls between two bounds about the true value. */
export function between(lower: number, upper: number, deviation: number): number {
  if (!(upper > lower)) return toFloat(0);
  if (!(deviation > 0)) return toFloat(lower <= 0 && upper >= 0 ? 1 : 0);
  const share = normalBelow(upper / deviation) - normalBelow(lower / deviation);
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
