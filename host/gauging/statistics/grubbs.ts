/** Grubbs' test for one outlier among normal readings. Formula: NIST/SEMATECH e-Handbook, 1.3.5.17.1. */
import { studentQuantile } from '../../../protocol/solver';
import { meanOf, standardDeviation } from './spread';

export interface GrubbsResult {
  /** Index of the reading that lies farthest out on the side asked about. */
  readonly suspect: number;
  readonly G: number;
  readonly critical: number;
  readonly isOutlier: boolean;
}

/** At least three readings that are not all the same; undefined otherwise. */
export function grubbs(
  values: readonly number[],
  side: 'largest' | 'smallest' | 'either' = 'either',
  alpha = 0.05,
): GrubbsResult | undefined {
  const n = values.length;
  const sd = standardDeviation(values);
  if (n < 3 || !(sd > 0)) return undefined;
  const mean = meanOf(values);
  const scores = values.map((v) =>
    side === 'largest' ? (v - mean) / sd : side === 'smallest' ? (mean - v) / sd : Math.abs(v - mean) / sd,
  );
  const G = Math.max(...scores);
  const t = studentQuantile(1 - alpha / (side === 'either' ? 2 * n : n), n - 2);
  const critical = ((n - 1) / Math.sqrt(n)) * Math.sqrt((t * t) / (n - 2 + t * t));
  return { suspect: scores.indexOf(G), G, critical, isOutlier: G > critical };
}
