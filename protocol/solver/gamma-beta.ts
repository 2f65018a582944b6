/**
 * The gamma function and the incomplete beta and gamma functions, on which Student's, Fisher's and the chi-square
 * distributions rest.
 *
 * Formulas: Abramowitz & Stegun, Handbook of Mathematical Functions, numbers given at each.
 */
import { exponential, logarithm, toFloat } from './number';

const LOG_SQRT_TWO_PI = 0.9189385332046728;

/** The regularised incomplete beta function; `y` is 1 - x, given apart because the caller knows it without cancellation. */
export function incompleteBeta(x: number, y: number, a: number, b: number): number {
  if (!(x > 0)) return toFloat(0);
  if (!(y > 0)) return toFloat(1);
  if (x > (a + 1) / (a + b + 2)) return 1 - betaFraction(y, x, b, a);
  return betaFraction(x, y, a, b);
}

/** 26.5.8, the continued fraction, evaluated forwards (modified Lentz). */
function betaFraction(x: number, y: number, a: number, b: number): number {
  const tiny = 1e-300;
  const front = exponential(
    a * logarithm(x) + b * logarithm(y) + logGamma(a + b) - logGamma(a) - logGamma(b) - logarithm(a),
  );
  let c = toFloat(1);
  let d = 1 - ((a + b) * x) / (a + 1);
  d = 1 / (Math.abs(d) < tiny ? tiny : d);
  let fraction = d;
  for (let m = 1; m <= 500; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = ((0 - (a + m)) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    let change = toFloat(1);
    for (let half = 0; half < 2; half++) {
      const term = half === 0 ? even : odd;
      d = 1 + term * d;
      d = 1 / (Math.abs(d) < tiny ? tiny : d);
      c = 1 + term / c;
      if (Math.abs(c) < tiny) c = tiny;
      change *= d * c;
      fraction *= d * c;
    }
    if (Math.abs(change - 1) < 1e-15) break;
  }
  return front * fraction;
}

/** Logarithm of the gamma function for positive x: 6.1.41 (Stirling's series) after moving x up to 10 by 6.1.15. */
export function logGamma(x: number): number {
  let shift = toFloat(1);
  let z = toFloat(x);
  while (z < 10) {
    shift *= z;
    z += 1;
  }
  const s = 1 / (z * z);
  const series =
    1 / 12 - s * (1 / 360 - s * (1 / 1260 - s * (1 / 1680 - s * (1 / 1188 - (s * 691) / 360360))));
  return (z - 0.5) * logarithm(z) - z + LOG_SQRT_TWO_PI + series / z - logarithm(shift);
}

/** The regularised upper incomplete gamma function Q(a, x), a > 0, within about 1e-12 for a up to some hundreds. */
export function incompleteGamma(a: number, x: number): number {
  if (!(x > 0)) return toFloat(1);
  const front = exponential(a * logarithm(x) - x - logGamma(a));
  return x < a + 1 ? 1 - front * gammaSeries(a, x) : front * gammaFraction(a, x);
}

/** 6.5.29: all terms are positive. */
function gammaSeries(a: number, x: number): number {
  let term = 1 / toFloat(a);
  let sum = term;
  for (let k = 1; k < 10000; k++) {
    term = (term * x) / (a + k);
    sum += term;
    if (term < sum * 1e-17) break;
  }
  return sum;
}

/** 6.5.31, the continued fraction in its even form, evaluated forwards (modified Lentz). */
function gammaFraction(a: number, x: number): number {
  let b = x + 1 - a;
  let c = toFloat(1e300);
  let d = 1 / b;
  let fraction = d;
  for (let k = 1; k < 10000; k++) {
    const numerator = toFloat(k) * (a - k);
    b += 2;
    d = 1 / (numerator * d + b);
    c = b + numerator / c;
    const change = c * d;
    fraction *= change;
    if (Math.abs(change - 1) < 1e-16) break;
  }
  return fraction;
}
