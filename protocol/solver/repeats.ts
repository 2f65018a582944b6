/**
 * Captures of one clamping on one heading, without a move in between: they share everything but their own noise.
 *
 * Of m such captures with variances v the weighted mean carries all that the rest of the model can see; the m - 1
 * contrasts among them are independent of it and of every other capture. So a solve need not grow with the cube of its
 * captures: the means are solved, and the contrasts come in as what they are. The split is exact, not an approximation
 * (sufficiency of the weighted mean; any text on generalised least squares).
 */
import type { TipReading } from './layout';
import { logarithm, toFloat, zeros } from './number';
import { captureVariance } from './tip-model';

export interface Repeats {
  /** One reading for each set of captures that share everything, oldest first. */
  readonly means: readonly TipReading[];
  /** For each capture its set, and its share of the set's mean; 1 when it is alone. */
  readonly setOf: readonly number[];
  readonly shares: readonly number[];
  /** For each capture what it lies off its set's mean, over its own variance. */
  readonly pulls: readonly number[];
  /** For each capture what its variance's inverse is more than its part in the mean's: 1/v less share²/v of the mean. */
  readonly alone: readonly number[];
  /** Sum over all captures of the squared deviation from their mean over their variance, and how many contrasts that is. */
  readonly scatter: number;
  readonly contrasts: number;
  /** What whitening the contrasts adds to the logarithm of the whitening's determinant. */
  readonly logScale: number;
}

/** Sets whose mean is surer than the wire's rounding are left as single captures. */
const LEAST_VARIANCE_MM2 = captureVariance(0);

export function repeatsOf(readings: readonly TipReading[]): Repeats {
  const sets: number[][] = [];
  for (let i = 0; i < readings.length; i++) {
    let found = 0;
    while (found < sets.length && !sharesAll(readings[sets[found][0]], readings[i])) found += 1;
    if (found === sets.length) sets.push([i]);
    else if (varianceOfMean(readings, sets[found], i) > LEAST_VARIANCE_MM2) sets[found].push(i);
    else sets.push([i]);
  }
  const means: TipReading[] = [];
  const setOf = zeros(readings.length);
  const shares = zeros(readings.length);
  const pulls = zeros(readings.length);
  const alone = zeros(readings.length);
  let scatter = toFloat(0);
  let logScale = toFloat(0);
  for (let s = 0; s < sets.length; s++) {
    const first = readings[sets[s][0]];
    const meanVariance = varianceOfMean(readings, sets[s], -1);
    let heightMm = toFloat(0);
    for (const i of sets[s]) {
      const variance = captureVariance(readings[i].standardErrorMm);
      setOf[i] = s;
      shares[i] = sets[s].length === 1 ? toFloat(1) : meanVariance / variance;
      heightMm += shares[i] * readings[i].heightMm;
    }
    if (sets[s].length === 1) {
      means.push(first);
      continue;
    }
    for (const i of sets[s]) {
      const variance = captureVariance(readings[i].standardErrorMm);
      const off = readings[i].heightMm - heightMm;
      pulls[i] = off / variance;
      alone[i] = (1 - shares[i]) / variance;
      scatter += off * pulls[i];
      logScale -= logarithm(variance) / 2;
    }
    logScale += logarithm(meanVariance) / 2;
    const standardErrorMm = Math.sqrt(meanVariance - LEAST_VARIANCE_MM2);
    means.push({ ...first, heightMm, standardErrorMm });
  }
  const contrasts = readings.length - sets.length;
  return { means, setOf, shares, pulls, alone, scatter, contrasts, logScale };
}

/** Of a set, with `more` besides unless that is -1. */
function varianceOfMean(readings: readonly TipReading[], set: readonly number[], more: number): number {
  let weight = toFloat(0);
  for (const i of set) weight += 1 / captureVariance(readings[i].standardErrorMm);
  if (more >= 0) weight += 1 / captureVariance(readings[more].standardErrorMm);
  return 1 / weight;
}

function sharesAll(a: TipReading, b: TipReading): boolean {
  return (
    a.spindle === b.spindle &&
    a.headingDeg === b.headingDeg &&
    a.end === b.end &&
    a.refitted === b.refitted &&
    a.seating === b.seating &&
    a.placement === b.placement &&
    sameGivenSpot(a, b)
  );
}

function sameGivenSpot(a: TipReading, b: TipReading): boolean {
  if (a.spot === undefined || b.spot === undefined) return a.spot === b.spot;
  return a.spot.xMm === b.spot.xMm && a.spot.yMm === b.spot.yMm;
}
