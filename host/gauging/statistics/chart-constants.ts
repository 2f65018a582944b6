/** Control-chart constants, computed from their definitions for normal readings. */
import { logGamma, normalBelow } from '../../../protocol/solver';

/** Constants of a subgroup of n readings, by the names that charts use. */
export interface ChartConstants {
  /** Mean and standard deviation of the range of n standard normal readings. */
  readonly d2: number;
  readonly d3: number;
  /** Mean of the standard deviation of n standard normal readings. */
  readonly c4: number;
  readonly A2: number;
  readonly A3: number;
  readonly B3: number;
  readonly B4: number;
  readonly D3: number;
  readonly D4: number;
}

/** For n from 2 upwards, within 1e-7. */
export function chartConstants(n: number): ChartConstants {
  const known = computed.get(n);
  if (known !== undefined) return known;
  const { mean: d2, sd: d3 } = rangeOfNormals(n);
  const c4 = Math.sqrt(2 / (n - 1)) * Math.exp(logGamma(n / 2) - logGamma((n - 1) / 2));
  const spread = (3 * Math.sqrt(1 - c4 * c4)) / c4;
  const constants = {
    d2,
    d3,
    c4,
    A2: 3 / (d2 * Math.sqrt(n)),
    A3: 3 / (c4 * Math.sqrt(n)),
    B3: Math.max(0, 1 - spread),
    B4: 1 + spread,
    D3: Math.max(0, 1 - (3 * d3) / d2),
    D4: 1 + (3 * d3) / d2,
  };
  computed.set(n, constants);
  return constants;
}

/** The same to the three decimals of published tables, so that a chart agrees with worked examples to their last digit. */
export function tabulatedConstants(n: number): ChartConstants {
  const { c4, ...others } = chartConstants(n);
  const rounded = Object.fromEntries(
    Object.entries(others).map(([name, value]) => [name, decimals(value, 3)]),
  ) as Omit<ChartConstants, 'c4'>;
  return { ...rounded, c4: decimals(c4, 4) };
}

/**
 * The factor that makes a standard deviation of the mean of `groups` ranges of n readings: 1 / d2*, with
 * d2*^2 = d2^2 + d3^2 / groups. With one group it is that of average-and-range studies (there K2 and K3), with infinitely
 * many 1 / d2 (there K1). To the four decimals of the published tables.
 */
export function rangeFactor(n: number, groups: number): number {
  const { d2, d3 } = chartConstants(n);
  return decimals(1 / Math.sqrt(d2 * d2 + (d3 * d3) / groups), 4);
}

const computed = new Map<number, ChartConstants>();

function decimals(value: number, count: number): number {
  return Number(value.toFixed(count));
}

/**
 * P(range <= w) = n times the integral of phi(x) (Phi(x + w) - Phi(x))^(n - 1); its mean and second moment are the integrals
 * of 1 - P and of 2 w (1 - P). Equal steps over a smooth integrand that vanishes at both ends are exact to rounding; over w,
 * where it does not vanish at 0, Simpson's rule.
 */
function rangeOfNormals(n: number): { mean: number; sd: number } {
  const step = 1 / 16;
  const reach = 8.5;
  const count = Math.round((2 * reach) / step);
  const at = Array.from({ length: 3 * count }, (_, i) => normalBelow(-reach + i * step));
  const density = at.slice(0, count).map((_, i) => {
    const x = -reach + i * step;
    return (n * step * Math.exp((-x * x) / 2)) / Math.sqrt(2 * Math.PI);
  });
  const beyond = (k: number) => {
    let inside = 0;
    for (let i = 0; i < count; i++) inside += density[i] * (at[i + k] - at[i]) ** (n - 1);
    return 1 - inside;
  };
  const most = 14 / step;
  let mean = 0;
  let square = 0;
  for (let k = 0; k <= most; k++) {
    const weight = ((k === 0 || k === most ? 1 : k % 2 === 1 ? 4 : 2) * step) / 3;
    const tail = beyond(k);
    mean += weight * tail;
    square += weight * 2 * k * step * tail;
  }
  return { mean, sd: Math.sqrt(square - mean * mean) };
}
