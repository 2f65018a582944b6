/** The chi-square distribution: finite sums for whole degrees of freedom, the incomplete gamma function for others. */
import { incompleteGamma } from './gamma-beta';
import { normalBelow } from './normal';
import { exponential, toFloat } from './number';

/**
 * Probability that chi-square with that many degrees of freedom lies above a value. Formulas: Abramowitz & Stegun,
 * Handbook of Mathematical Functions, 26.4.4 (odd), 26.4.5 (even) and 26.4.19 (not whole). 1 without degrees of freedom.
 */
export function chiSquareAbove(value: number, degreesOfFreedom: number): number {
  const x = toFloat(value);
  if (!(x > 0) || !(degreesOfFreedom > 0)) return toFloat(1);
  if (Math.floor(degreesOfFreedom) !== degreesOfFreedom) return incompleteGamma(degreesOfFreedom / 2, x / 2);
  const density = exponential((0 - x) / 2);
  const odd = degreesOfFreedom - 2 * Math.floor(degreesOfFreedom / 2) === 1;
  let term = odd ? Math.sqrt((2 * x) / Math.PI) * density : density;
  let sum = odd ? 2 * normalBelow(0 - Math.sqrt(x)) : toFloat(0);
  for (let k = odd ? 3 : 2; k <= degreesOfFreedom; k += 2) {
    sum += term;
    term = (term * x) / k;
  }
  return sum < 1 ? sum : toFloat(1);
}
