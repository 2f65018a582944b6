/** One-way analysis of variance from the means and standard deviations of groups of one size. */
import { fisherAbove } from '../../../protocol/solver';
import { meanOf, pooled, standardDeviation, type Spread } from './spread';

export interface OneWay {
  readonly mean: number;
  /** Mean squares between groups (of single readings) and within. */
  readonly between: { readonly meanSquare: number; readonly degreesOfFreedom: number };
  readonly within: { readonly meanSquare: number; readonly degreesOfFreedom: number };
  readonly F: number;
  readonly p: number;
  /** Variance of the groups' true means, not below 0. */
  readonly betweenVariance: number;
  /** Standard deviation of the group means, and the pooled one within groups. */
  readonly sdOfMeans: number;
  readonly pooledWithin: Spread;
}

/** `perGroup`: readings in each group. GUM H.5 by summaries; the same as an analysis of the readings themselves. */
export function oneWay(
  groups: readonly { readonly mean: number; readonly sd: number }[],
  perGroup: number,
): OneWay {
  const means = groups.map((g) => g.mean);
  const sdOfMeans = standardDeviation(means);
  const pooledWithin = pooled(groups.map(({ sd }) => ({ sd, degreesOfFreedom: perGroup - 1 })));
  const between = { meanSquare: perGroup * sdOfMeans ** 2, degreesOfFreedom: groups.length - 1 };
  const within = { meanSquare: pooledWithin.sd ** 2, degreesOfFreedom: pooledWithin.degreesOfFreedom };
  const F = between.meanSquare / within.meanSquare;
  return {
    mean: meanOf(means),
    between,
    within,
    F,
    p: fisherAbove(F, between.degreesOfFreedom, within.degreesOfFreedom),
    betweenVariance: Math.max(0, (between.meanSquare - within.meanSquare) / perGroup),
    sdOfMeans,
    pooledWithin,
  };
}
