/**
 * How much the uncertainties themselves can be trusted, where a width was assumed and not measured: as degrees of freedom.
 *
 * A width that is known to a share r of itself has 1 / (2 r^2) degrees of freedom (GUM G.4.2), and an uncertainty of several
 * parts has those that the Welch-Satterthwaite formula gives (GUM G.4.1).
 */
import { toFloat } from './number';
import type { MeasureResult, Solution } from './solve-tips';

/**
 * Gives each measure its effective degrees of freedom for one assumed cause. `wider` is the same solved with that cause's
 * width `ratio` times as large (above 1): the variance that this adds is the cause's share, for the weights of the best
 * estimate do not change it in first order. All other widths count as well known. A measure that either solution does not
 * determine stays as it is.
 */
export function withDegreesOfFreedom(
  solution: Solution,
  wider: Pick<Solution, 'measures'>,
  ratio: number,
  degreesOfFreedom: number,
): Solution {
  const measures: MeasureResult[] = [];
  for (let i = 0; i < solution.measures.length; i++) {
    const measure = solution.measures[i];
    const other = wider.measures[i];
    if (measure.determined && other.determined) {
      const share = causeShare(measure.standardUncertaintyMm, other.standardUncertaintyMm, toFloat(ratio));
      measures.push(
        share > 0 ? { ...measure, degreesOfFreedom: degreesOfFreedom / (share * share) } : measure,
      );
    } else measures.push(measure);
  }
  return { ...solution, measures };
}

/** Share of the variance, from 0 to 1. */
function causeShare(uncertainty: number, wider: number, ratio: number): number {
  const variance = uncertainty * uncertainty;
  if (!(variance > 0)) return toFloat(0);
  const share = (wider * wider - variance) / (variance * (ratio * ratio - 1));
  if (!(share > 0)) return toFloat(0);
  return share < 1 ? share : toFloat(1);
}
