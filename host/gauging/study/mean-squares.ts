/**
 * Linear combinations of independent mean squares, which is what variance components are: value, degrees of freedom and a
 * confidence interval by the modified large-sample method.
 *
 * N. Ting, R. K. Burdick, F. A. Graybill, S. Jeyaratnam, T.-F. C. Lu, Journal of Statistical Computation and Simulation 35
 * (1990) 135-143; for positive weights only F. A. Graybill, C.-M. Wang, JASA 75 (1980) 869-873. Formulas from memory, held
 * by a test of their coverage.
 */
import { chiSquareQuantile, fisherQuantile } from '../../../protocol/solver';

export interface MeanSquare {
  readonly meanSquare: number;
  readonly degreesOfFreedom: number;
}

export interface Weighted extends MeanSquare {
  readonly weight: number;
}

export function combined(terms: readonly Weighted[]): number {
  return terms.reduce((sum, t) => sum + t.weight * t.meanSquare, 0);
}

/** Satterthwaite's effective degrees of freedom. */
export function effectiveDegreesOfFreedom(terms: readonly Weighted[]): number {
  const fourths = terms.reduce((sum, t) => sum + (t.weight * t.meanSquare) ** 2 / t.degreesOfFreedom, 0);
  return fourths > 0 ? combined(terms) ** 2 / fourths : Infinity;
}

/** Two-sided interval for the expected value of the combination, not below 0. Exact when there is one mean square. */
export function interval(terms: readonly Weighted[], confidence: number): readonly [number, number] {
  const alpha = (1 - confidence) / 2;
  const value = combined(terms);
  const plus = terms.filter((t) => t.weight > 0).map((t) => bounds(t, alpha));
  const minus = terms.filter((t) => t.weight < 0).map((t) => bounds(t, alpha));
  const lower = own(plus, 'G') + own(minus, 'H') + crossed(plus, minus, alpha) + together(plus, minus, alpha);
  const upper =
    own(plus, 'H') + own(minus, 'G') + crossed(plus, minus, 1 - alpha) + together(minus, plus, alpha);
  return [
    Math.max(0, value - Math.sqrt(Math.max(0, lower))),
    Math.max(0, value + Math.sqrt(Math.max(0, upper))),
  ];
}

interface Bounded {
  /** Size of the term. */
  readonly size: number;
  readonly degreesOfFreedom: number;
  readonly G: number;
  readonly H: number;
}

function bounds({ weight, meanSquare, degreesOfFreedom }: Weighted, alpha: number): Bounded {
  return {
    size: Math.abs(weight) * meanSquare,
    degreesOfFreedom,
    G: 1 - degreesOfFreedom / chiSquareQuantile(alpha, degreesOfFreedom),
    H: degreesOfFreedom / chiSquareQuantile(1 - alpha, degreesOfFreedom) - 1,
  };
}

function own(terms: readonly Bounded[], which: 'G' | 'H'): number {
  return terms.reduce((sum, t) => sum + (t[which] * t.size) ** 2, 0);
}

/** What a pair of opposite signs adds; `alpha` above one half gives the terms of the upper limit. */
function crossed(plus: readonly Bounded[], minus: readonly Bounded[], alpha: number): number {
  let sum = 0;
  for (const p of plus) {
    for (const m of minus) {
      const F = fisherQuantile(alpha, p.degreesOfFreedom, m.degreesOfFreedom);
      const [a, b] = alpha < 0.5 ? [p.G, m.H] : [p.H, m.G];
      sum += (((F - 1) ** 2 - (a * F) ** 2 - b ** 2) / F) * p.size * m.size;
    }
  }
  return sum;
}

/** What two terms of one sign add where there are others of the opposite sign. */
function together(terms: readonly Bounded[], others: readonly Bounded[], alpha: number): number {
  if (others.length === 0) return 0;
  let sum = 0;
  terms.forEach((a, i) => {
    for (const b of terms.slice(i + 1)) {
      const n = a.degreesOfFreedom;
      const m = b.degreesOfFreedom;
      const G = 1 - (n + m) / chiSquareQuantile(alpha, n + m);
      const star = (G * G * (n + m) ** 2) / (n * m) - (a.G * a.G * n) / m - (b.G * b.G * m) / n;
      sum += (star / (terms.length - 1)) * a.size * b.size;
    }
  });
  return sum;
}
