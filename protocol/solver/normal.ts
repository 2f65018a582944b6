/**
 * The normal and Student's t distribution functions.
 *
 * Formulas: Abramowitz & Stegun, Handbook of Mathematical Functions, numbers given at each.
 */
import { incompleteBeta } from './gamma-beta';
import { exponential, logarithm, toFloat } from './number';

const SQRT_TWO_PI = 2.5066282746310002;
/** Square of the share of a sum below which a term changes nothing: 1e-17. */
const NOTHING = 1e-34;

/** Probability that a standard normal variable is below a quantile, within about 1e-14 relative. */
export function normalBelow(quantile: number): number {
  const z = toFloat(quantile);
  if (z < -3) return normalTail(0 - z);
  if (z > 3) return 1 - normalTail(z);
  // 26.2.11: all terms have one sign, so nothing cancels within the series.
  const square = z * z;
  let term = z;
  let sum = term;
  for (let k = 3; k < 100 && term * term > NOTHING * sum * sum; k += 2) {
    term = (term * square) / k;
    sum += term;
  }
  return 0.5 + (exponential((-z * z) / 2) / SQRT_TWO_PI) * sum;
}

/** 26.2.14, the continued fraction of the upper tail, from far out inwards; for z from 3 upwards. The farther out, the fewer terms. */
function normalTail(z: number): number {
  let denominator = toFloat(z);
  for (let k = Math.floor(10 + 450 / (z * z)); k >= 1; k--) denominator = z + k / denominator;
  return exponential((-z * z) / 2) / SQRT_TWO_PI / denominator;
}

/** The z below which a standard normal variable lies with probability p, 0 < p < 1. */
export function normalQuantile(p: number): number {
  if (p > 0.5) return 0 - normalQuantile(1 - p);
  if (!(p > 0)) return -Infinity;
  // 26.2.22 is good to 3e-3; Newton steps with a curvature term finish it.
  const t = Math.sqrt(-2 * logarithm(p));
  let z = (2.30753 + 0.27061 * t) / (1 + 0.99229 * t + 0.04481 * t * t) - t;
  for (let step = 0; step < 3; step++) {
    const miss = (normalBelow(z) - p) / (exponential((-z * z) / 2) / SQRT_TWO_PI);
    z -= miss / (1 + (z * miss) / 2);
  }
  return z;
}

/**
 * Probability that Student's t with the given degrees of freedom (any positive number; infinite: normal) is below a quantile,
 * within about 1e-12.
 */
export function studentBelow(t: number, degreesOfFreedom: number): number {
  if (degreesOfFreedom > 1e7) return normalBelow(t);
  const x = degreesOfFreedom / (degreesOfFreedom + t * t);
  // 26.7.1: both tails together are the incomplete beta function.
  const tail =
    incompleteBeta(x, (t * t) / (degreesOfFreedom + t * t), degreesOfFreedom / 2, toFloat(0.5)) / 2;
  return t > 0 ? 1 - tail : tail;
}
