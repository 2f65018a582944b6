/** Quantiles of Student's t, chi-square and Fisher's F: the distribution functions turned round by bisection. */
import { chiSquareAbove } from './chi-square';
import { fisherAbove } from './fisher';
import { normalQuantile, studentBelow } from './normal';
import { toFloat } from './number';

/** The t below which Student's t lies with probability p, 0 < p < 1. */
export function studentQuantile(p: number, degreesOfFreedom: number): number {
  if (p > 0.5) return 0 - studentQuantile(1 - p, degreesOfFreedom);
  if (p === 0.5) return toFloat(0);
  if (degreesOfFreedom > 1e7) return normalQuantile(p);
  return 0 - whereItFalls((t) => studentBelow(0 - t, degreesOfFreedom), p);
}

/** The value above which chi-square lies with probability p, 0 < p < 1. */
export function chiSquareQuantile(p: number, degreesOfFreedom: number): number {
  return whereItFalls((x) => chiSquareAbove(x, degreesOfFreedom), p);
}

/** The value above which F lies with probability p, 0 < p < 1; degrees of freedom may be infinite. */
export function fisherQuantile(p: number, above: number, below: number): number {
  return whereItFalls((f) => fisherAbove(f, above, below), p);
}

/** Where a function that falls from 1 at 0 to 0 at infinity passes p, to the last bit or two. */
function whereItFalls(of: (x: number) => number, p: number): number {
  let high = toFloat(1);
  while (of(high) > p && high < 1e300) high *= 2;
  let low = toFloat(0);
  for (let step = 0; step < 2000; step++) {
    const middle = low + (high - low) / 2;
    if (middle === low || middle === high) break;
    if (of(middle) > p) low = middle;
    else high = middle;
  }
  return high;
}
