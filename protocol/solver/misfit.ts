/**
 * What is made of readings that scatter more than the widths allow: everything is then as much wider as they are.
 *
 * This is Birge's ratio (R. T. Birge, Physical Review 40 (1932) 207; from memory), the root of chi-square over its degrees
 * of freedom. Readings that agree better than the widths allow earn nothing by it: what all of them share, floor and habits
 * of the hand, they cannot show.
 */
import { toFloat } from './number';
import type { MeasureResult, Quantity, Solution, SpindleResult, TipResult } from './solve-tips';

/** How many times larger than the widths give it every variance is to be taken: at least 1. */
export function varianceFactor({
  chiSquare,
  degreesOfFreedom,
}: Pick<Solution, 'chiSquare' | 'degreesOfFreedom'>): number {
  const ratio = degreesOfFreedom > 0 ? chiSquare / toFloat(degreesOfFreedom) : toFloat(1);
  return ratio > 1 ? ratio : toFloat(1);
}

/** The solution with all its uncertainties as wide as its own readings ask for; residuals and evidence stay. */
export function widenedByMisfit(solution: Solution): Solution {
  const factor = varianceFactor(solution);
  if (factor === 1) return solution;
  const { pose } = solution;
  const root = Math.sqrt(factor);
  const measures: MeasureResult[] = [];
  for (const m of solution.measures) {
    measures.push(m.determined ? { ...m, standardUncertaintyMm: root * m.standardUncertaintyMm } : m);
  }
  const tips: TipResult[] = [];
  for (const tip of solution.tips) {
    tips.push({ ...tip, standardUncertaintyMm: root * tip.standardUncertaintyMm });
  }
  const spindles: SpindleResult[] = [];
  for (const { heightMm, tiltXRad, tiltYRad, bendMm } of solution.spindles) {
    spindles.push({
      heightMm: wider(heightMm, root),
      tiltXRad: wider(tiltXRad, root),
      tiltYRad: wider(tiltYRad, root),
      bendMm: wider(bendMm, root),
    });
  }
  return {
    ...solution,
    pose: pose === 'not determined' ? pose : { ...pose, covariance: scaled(pose.covariance, factor) },
    measures,
    measureCovariance: scaled(solution.measureCovariance, factor),
    tips,
    spindles,
  };
}

function wider(quantity: Quantity, root: number): Quantity {
  if (!quantity.determined) return quantity;
  return { ...quantity, standardUncertainty: root * quantity.standardUncertainty };
}

function scaled(list: readonly number[], factor: number): number[] {
  const result: number[] = [];
  for (const value of list) result.push(factor * value);
  return result;
}
