/** How every capture stands to all the others, from the one fit of all. */
import { covariance, functional, type Answer, type Estimate, type Rows } from './engine';
import { toFloat, zeros } from './number';
import type { Repeats } from './repeats';
import { gainAt, type TipModel } from './tip-model';
import { whiten, type Lower } from './whiten';

/** A reading less what all the others predict for it; standardised by the deviation of that difference. */
export type Residual =
  | { readonly determined: true; readonly valueMm: number; readonly standardised: number }
  | { readonly determined: false };

/** A reading that no other one backs keeps less than this share of its weight. */
const UNBACKED = 1e-9;

/** A tip model fitted to the means of repeated captures. */
export interface Fit {
  readonly model: TipModel;
  readonly repeats: Repeats;
  readonly lower: Lower;
  readonly rows: Rows;
  readonly estimate: Estimate;
}

/**
 * Leave-one-out residuals from one fit: with K the covariance of the captures under model and priors, capture i less its
 * prediction from the others is (K^-1 y)_i / (K^-1)_ii, of variance 1 / (K^-1)_ii. A capture acts through its share of
 * its set's mean and through the contrasts, which see nothing but the scale.
 */
export function residualsOf({ model, repeats, lower, rows, estimate }: Fit): Residual[] {
  const count = rows.observed.length;
  const misfit: number[] = [];
  for (let i = 0; i < count; i++) {
    const row: number[] = [];
    for (const column of rows.columns) row.push(column[i]);
    misfit.push(rows.observed[i] - valueOr(functional(estimate, row), rows.observed[i]));
  }
  const sets: SetInFit[] = [];
  for (let i = 0; i < count; i++) sets.push(setInFit(lower, rows, misfit, i));
  const gain = gainAt(model);
  const scaleOnly = zeros(model.size);
  scaleOnly[gain] = toFloat(model.widths.gain);
  const scale = valueOr(functional(estimate, scaleOnly), toFloat(0));
  const residuals: Residual[] = [];
  for (let i = 0; i < repeats.setOf.length; i++) {
    const set = sets[repeats.setOf[i]];
    const share = repeats.shares[i];
    const seen: number[] = [];
    for (const value of set.seen) seen.push(share * value);
    seen[gain] = seen[gain] + model.widths.gain * repeats.pulls[i];
    const alone = share * share * set.alone + repeats.alone[i];
    const explained = functional(estimate, seen);
    const left = explained.determined ? alone - explained.variance : toFloat(0);
    if (left > UNBACKED * alone) {
      const pull = share * set.pull + (1 - scale) * repeats.pulls[i];
      residuals.push({ determined: true, valueMm: pull / left, standardised: pull / Math.sqrt(left) });
    } else residuals.push({ determined: false });
  }
  return residuals;
}

/** A set's mean in the inverse of the means' covariance: its diagonal, its columns' part, its misfit's. */
interface SetInFit {
  readonly alone: number;
  readonly seen: readonly number[];
  readonly pull: number;
}

function setInFit(lower: Lower, rows: Rows, misfit: readonly number[], index: number): SetInFit {
  const unit = zeros(misfit.length);
  unit[index] = toFloat(1);
  const weights = whiten(lower, unit, index);
  const seen: number[] = [];
  for (const column of rows.columns) {
    let sum = toFloat(0);
    for (let k = index; k < misfit.length; k++) sum += column[k] * weights[k];
    seen.push(sum);
  }
  return { alone: covariance(weights, weights), seen, pull: covariance(weights, misfit) };
}

function valueOr(answer: Answer, otherwise: number): number {
  return answer.determined ? answer.value : otherwise;
}
