/**
 * Shewhart charts (individuals, and subgroups by range or by standard deviation) and the EWMA chart.
 * Formulas: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.
 */
import { tabulatedConstants } from './chart-constants';
import { meanOf, rangeOf, standardDeviation } from './spread';

/** Points against a centre line and limits; the limits may differ from point to point. */
export interface Chart {
  readonly points: readonly number[];
  readonly centre: number;
  readonly lower: readonly number[];
  readonly upper: readonly number[];
  /** Standard deviation of one point, from which the limits come. */
  readonly sigma: number;
  /** Points beyond the limits, counted from 0. */
  readonly beyond: readonly number[];
}

/** Single readings with limits from the mean moving range of two, and the chart of those ranges. At least two readings. */
export function individualsChart(values: readonly number[]): { readings: Chart; movingRanges: Chart } {
  const ranges = values.slice(1).map((value, i) => Math.abs(value - values[i]));
  const { d2, D4 } = tabulatedConstants(2);
  const meanRange = meanOf(ranges);
  return {
    readings: chartAround(values, meanOf(values), meanRange / d2, 3),
    movingRanges: chartOf(ranges, meanRange, 0, D4 * meanRange, meanRange / d2),
  };
}

/** Subgroups of one size: their means with limits from the spread within, and the chart of that spread. */
export function subgroupCharts(
  groups: readonly (readonly number[])[],
  by: 'range' | 'sd',
): { means: Chart; spreads: Chart } {
  const n = groups[0].length;
  const k = tabulatedConstants(n);
  const means = groups.map(meanOf);
  const spreads = groups.map(by === 'range' ? rangeOf : standardDeviation);
  const spread = meanOf(spreads);
  const [a, low, high, unbias] = by === 'range' ? [k.A2, k.D3, k.D4, k.d2] : [k.A3, k.B3, k.B4, k.c4];
  const centre = meanOf(means);
  return {
    means: chartOf(means, centre, centre - a * spread, centre + a * spread, spread / unbias / Math.sqrt(n)),
    spreads: chartOf(spreads, spread, low * spread, high * spread, spread / unbias),
  };
}

export interface EwmaOptions {
  /** Weight of the newest reading, above 0 and up to 1. */
  readonly lambda: number;
  /** Where the average starts and the centre line lies. */
  readonly target: number;
  /** Standard deviation of one reading. */
  readonly sigma: number;
  /** Width of the limits in standard deviations of the average. */
  readonly width?: number;
  /** `settled`: the limits of an average that has long run, as in the handbook; `exact`: narrower at the start. */
  readonly limits?: 'settled' | 'exact';
}

/** Exponentially weighted moving average; the first point is the average after the first reading. */
export function ewmaChart(values: readonly number[], options: EwmaOptions): Chart {
  const { lambda, target, sigma, width = 3, limits = 'settled' } = options;
  let average = target;
  const points = values.map((value) => (average = lambda * value + (1 - lambda) * average));
  const settled = Math.sqrt(lambda / (2 - lambda));
  const halves = points.map(
    (_, i) =>
      width * sigma * settled * (limits === 'settled' ? 1 : Math.sqrt(1 - (1 - lambda) ** (2 * (i + 1)))),
  );
  return withLimits(
    points,
    target,
    halves.map((h) => target - h),
    halves.map((h) => target + h),
    sigma * settled,
  );
}

/** Points about a known centre with limits at so many standard deviations. */
export function chartAround(points: readonly number[], centre: number, sigma: number, width: number): Chart {
  return chartOf(points, centre, centre - width * sigma, centre + width * sigma, sigma);
}

function chartOf(
  points: readonly number[],
  centre: number,
  lower: number,
  upper: number,
  sigma: number,
): Chart {
  return withLimits(
    points,
    centre,
    points.map(() => lower),
    points.map(() => upper),
    sigma,
  );
}

function withLimits(
  points: readonly number[],
  centre: number,
  lower: readonly number[],
  upper: readonly number[],
  sigma: number,
): Chart {
  const beyond = points.flatMap((p, i) => (p < lower[i] || p > upper[i] ? [i] : []));
  return { points, centre, lower, upper, sigma, beyond };
}
