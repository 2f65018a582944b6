/** Means and standard deviations of readings, and pooling over groups. */

export function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Sum of the squares about the mean, in two passes: nothing cancels. */
export function squaresAboutMean(values: readonly number[]): number {
  const mean = meanOf(values);
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
}

/** Standard deviation with n - 1 degrees of freedom; NaN for fewer than two values. */
export function standardDeviation(values: readonly number[]): number {
  return values.length < 2 ? NaN : Math.sqrt(squaresAboutMean(values) / (values.length - 1));
}

export function rangeOf(values: readonly number[]): number {
  return Math.max(...values) - Math.min(...values);
}

/** A standard deviation and how well it is known. */
export interface Spread {
  readonly sd: number;
  readonly degreesOfFreedom: number;
}

/** The standard deviation that several groups share: their variances, each weighted by its degrees of freedom. */
export function pooled(spreads: readonly Spread[]): Spread {
  const degreesOfFreedom = spreads.reduce((sum, s) => sum + s.degreesOfFreedom, 0);
  const squares = spreads.reduce((sum, s) => sum + s.degreesOfFreedom * s.sd ** 2, 0);
  return { sd: Math.sqrt(squares / degreesOfFreedom), degreesOfFreedom };
}

/** Values by a key, in the order in which the keys first come. */
export function grouped<T>(values: readonly T[], key: (value: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const value of values) {
    const group = groups.get(key(value));
    if (group === undefined) groups.set(key(value), [value]);
    else group.push(value);
  }
  return groups;
}
