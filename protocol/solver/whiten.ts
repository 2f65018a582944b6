/** Whitening of correlated observations by the Cholesky factor of their covariance. */
import { logarithm, toFloat, zeros } from './number';

/** Lower triangle by rows: row i holds i + 1 numbers. */
export type Lower = readonly (readonly number[])[];

/**
 * The lower triangle L with L L' = C, from the lower triangle of C by rows, which is overwritten; undefined when C is not
 * positive definite.
 */
export function cholesky(covariance: number[][]): Lower | undefined {
  const size = covariance.length;
  for (let i = 0; i < size; i++) {
    const row = covariance[i];
    for (let j = 0; j <= i; j++) {
      const other = covariance[j];
      let sum = toFloat(row[j]);
      for (let k = 0; k < j; k++) sum -= row[k] * other[k];
      if (j < i) row[j] = sum / other[j];
      else if (sum > 0) row[i] = Math.sqrt(sum);
      else return undefined;
    }
  }
  return covariance;
}

/** L^-1 v. `from` says how many leading entries of v are zero. */
export function whiten(lower: Lower, vector: readonly number[], from: number): number[] {
  const size = lower.length;
  const result = zeros(size);
  for (let i = from; i < size; i++) {
    const row = lower[i];
    let sum = toFloat(vector[i]);
    for (let k = from; k < i; k++) sum -= row[k] * result[k];
    result[i] = sum / row[i];
  }
  return result;
}

/** Logarithm of the determinant of L^-1. */
export function logWhitening(lower: Lower): number {
  let sum = toFloat(0);
  for (let i = 0; i < lower.length; i++) sum -= logarithm(lower[i][i]);
  return sum;
}
