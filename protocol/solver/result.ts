/** The decision on a set of measures, after JCGM 106 and ISO 14253-1: by probability, jointly, with a third answer. */
import type { MeasureQuestion } from './layout';
import { normalBelow, studentBelow } from './normal';
import { toFloat } from './number';
import type { MeasureResult, Solution } from './solve-tips';

/** Accept when all measures together are inside with this probability, by the lower bound 1 - sum (1 - p). */
export const ACCEPT_JOINT_PROBABILITY = 0.98;
/** Reject when one measure is inside with this probability or less. */
export const REJECT_PROBABILITY = 0.02;

/** Fewer degrees of freedom than this behind the widths: Student's t instead of the normal distribution. */
const ENOUGH_DEGREES_OF_FREEDOM = 30;

export type Verdict =
  | {
      readonly name: string;
      readonly determined: true;
      readonly valueMm: number;
      readonly standardUncertaintyMm: number;
      /** Probability that the true value is inside the limits. */
      readonly probability: number;
    }
  | { readonly name: string; readonly determined: false };

export interface Judgement {
  readonly decision: 'pass' | 'fail' | 'undecided';
  /** Lower bound of the probability that every measure is inside; 0 while one is not determined. */
  readonly jointProbability: number;
  readonly perMeasure: readonly Verdict[];
  readonly notDetermined: readonly string[];
}

/**
 * Judges a solution against the limits of the questions that it was solved for, in the same order. A measure that is not
 * determined is never accepted.
 */
export function judge(
  solution: Pick<Solution, 'measures'>,
  questions: readonly MeasureQuestion[],
): Judgement {
  const perMeasure: Verdict[] = [];
  const notDetermined: string[] = [];
  let outside = toFloat(0);
  let failed = false;
  for (let i = 0; i < questions.length; i++) {
    const measure: MeasureResult = solution.measures[i];
    if (measure.determined) {
      const { name, valueMm, standardUncertaintyMm, degreesOfFreedom } = measure;
      const out = probabilityOutside(valueMm, standardUncertaintyMm, questions[i], degreesOfFreedom);
      outside += out;
      if (1 - out <= REJECT_PROBABILITY) failed = true;
      perMeasure.push({ name, determined: true, valueMm, standardUncertaintyMm, probability: 1 - out });
    } else {
      outside += 1;
      notDetermined.push(measure.name);
      perMeasure.push({ name: measure.name, determined: false });
    }
  }
  const jointProbability = outside < 1 ? 1 - outside : toFloat(0);
  let decision: Judgement['decision'] = 'undecided';
  if (failed) decision = 'fail';
  else if (
    questions.length > 0 &&
    notDetermined.length === 0 &&
    jointProbability >= ACCEPT_JOINT_PROBABILITY
  ) {
    decision = 'pass';
  }
  return { decision, jointProbability, perMeasure, notDetermined };
}

/** Probability that the true value lies outside the limits: the two tails, so that a small one keeps its digits. */
export function probabilityOutside(
  valueMm: number,
  standardUncertaintyMm: number,
  limits: { readonly lowerMm: number; readonly upperMm: number },
  degreesOfFreedom?: number,
): number {
  const below = toFloat(limits.lowerMm) - valueMm;
  const above = toFloat(valueMm) - limits.upperMm;
  if (!(standardUncertaintyMm > 0)) return toFloat(below > 0 || above > 0 ? 1 : 0);
  const lower = below / standardUncertaintyMm;
  const upper = above / standardUncertaintyMm;
  if (degreesOfFreedom !== undefined && degreesOfFreedom < ENOUGH_DEGREES_OF_FREEDOM) {
    return studentBelow(lower, degreesOfFreedom) + studentBelow(upper, degreesOfFreedom);
  }
  return normalBelow(lower) + normalBelow(upper);
}
