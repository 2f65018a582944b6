/** An uncertainty budget after the GUM (JCGM 100:2008): clauses at each formula. */
import { studentQuantile } from '../../../protocol/solver';

export interface Contribution {
  readonly name: string;
  /** A: from the spread of readings; B: from anything else (GUM 4.2, 4.3). */
  readonly type: 'A' | 'B';
  /** In the unit of the input. */
  readonly standardUncertainty: number;
  /** What one unit of the input changes in the result; 1 when left out. */
  readonly sensitivity?: number;
  /** Infinite when left out: known exactly. */
  readonly degreesOfFreedom?: number;
  /** Where the value comes from. */
  readonly source?: string;
}

export interface BudgetRow extends Contribution {
  readonly sensitivity: number;
  readonly source: string;
  /** In the unit of the result. */
  readonly contribution: number;
  /** Share of the variance. */
  readonly share: number;
}

export interface Budget {
  readonly rows: readonly BudgetRow[];
  readonly combined: number;
  /** Welch-Satterthwaite (G.4.1), not rounded. */
  readonly effectiveDegreesOfFreedom: number;
  readonly coverageFactor: number;
  readonly expanded: number;
  /** Share of the values that the expanded uncertainty covers. */
  readonly fraction: number;
}

/** Uncorrelated contributions. The coverage factor is Student's t for the next lower whole degrees of freedom (G.4.1). */
export function uncertaintyBudget(contributions: readonly Contribution[], fraction = 0.9545): Budget {
  const plain = contributions.map((c) => ({ sensitivity: 1, source: '', ...c }));
  const effects = plain.map((c) => Math.abs(c.sensitivity) * c.standardUncertainty);
  const variance = effects.reduce((sum, e) => sum + e * e, 0);
  const fourths = plain.reduce((sum, c, i) => sum + effects[i] ** 4 / (c.degreesOfFreedom ?? Infinity), 0);
  const effectiveDegreesOfFreedom = fourths > 0 ? variance ** 2 / fourths : Infinity;
  // A sum of rounded squares may fall short of a whole number by the last bit.
  const whole = Math.max(1, Math.floor(effectiveDegreesOfFreedom + 1e-9));
  const coverageFactor = studentQuantile((1 + fraction) / 2, whole);
  const combined = Math.sqrt(variance);
  return {
    rows: plain.map((c, i) => ({
      ...c,
      contribution: effects[i],
      share: variance > 0 ? effects[i] ** 2 / variance : 0,
    })),
    combined,
    effectiveDegreesOfFreedom,
    coverageFactor,
    expanded: coverageFactor * combined,
    fraction,
  };
}

/** Standard uncertainty of an input that lies within +/- a half width (GUM 4.3.7, 4.3.9; arcsine: H.1.3.4). */
export function fromHalfWidth(halfWidth: number, shape: 'rectangular' | 'triangular' | 'arcsine'): number {
  const divisor = { rectangular: 3, triangular: 6, arcsine: 2 }[shape];
  return halfWidth / Math.sqrt(divisor);
}

/** Degrees of freedom of a standard uncertainty that is itself known to a relative uncertainty (G.4.2, equation G.3). */
export function degreesOfReliability(relative: number): number {
  return 0.5 / relative ** 2;
}
