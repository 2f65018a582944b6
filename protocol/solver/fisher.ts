/** Fisher's F distribution. Formula: Abramowitz & Stegun, Handbook of Mathematical Functions, 26.6.2. */
import { chiSquareAbove } from './chi-square';
import { incompleteBeta } from './gamma-beta';
import { toFloat } from './number';

/**
 * Probability that F with that many degrees of freedom above and below the line is greater than a value, within about
 * 1e-12. Either may be infinite: then it is chi-square over its degrees of freedom; with both it is always 1.
 */
export function fisherAbove(value: number, above: number, below: number): number {
  const f = toFloat(value);
  if (!(f > 0)) return toFloat(1);
  if (above === Infinity && below === Infinity) return toFloat(f < 1 ? 1 : 0);
  if (below === Infinity) return chiSquareAbove(f * above, above);
  if (above === Infinity) return 1 - chiSquareAbove(below / f, below);
  const whole = below + above * f;
  return incompleteBeta(below / whole, (above * f) / whole, below / 2, above / 2);
}
