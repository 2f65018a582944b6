/** Least squares through the engine with nothing known before: coefficients, their covariance and what is predicted. */
import {
  absorb,
  covariance,
  functional,
  noInformation,
  solve,
  type Estimate,
} from '../../../protocol/solver';

export interface Fit {
  readonly coefficients: readonly number[];
  readonly standardUncertainties: readonly number[];
  /** Of every pair of coefficients. */
  readonly correlation: readonly (readonly number[])[];
  /** Standard deviation of one observation about the fit. */
  readonly s: number;
  readonly degreesOfFreedom: number;
  /** Value and standard uncertainty of a combination of the coefficients. */
  at(row: readonly number[]): { readonly value: number; readonly standardUncertainty: number };
}

/** One row for each observation. Undefined when the rows do not determine every coefficient or leave nothing over. */
export function leastSquares(
  rows: readonly (readonly number[])[],
  observed: readonly number[],
): Fit | undefined {
  const size = rows[0]?.length ?? 0;
  const columns = Array.from({ length: size }, (_, j) => rows.map((row) => row[j]));
  const estimate = solve(absorb(noInformation(size), { columns, observed, logScale: 0 }));
  const { degreesOfFreedom } = estimate;
  const units = columns.map((_, j) => columns.map((_, k) => (j === k ? 1 : 0)));
  const answers = units.map((unit) => functional(estimate, unit));
  const known = answers.flatMap((a) => (a.determined ? [a] : []));
  if (known.length < size || degreesOfFreedom < 1) return undefined;
  const s = Math.sqrt(estimate.sumOfSquares / degreesOfFreedom);
  return {
    coefficients: known.map((a) => a.value),
    standardUncertainties: known.map((a) => s * Math.sqrt(a.variance)),
    correlation: known.map((a) =>
      known.map((b) => covariance(a.root, b.root) / Math.sqrt(a.variance * b.variance)),
    ),
    s,
    degreesOfFreedom,
    at: (row) => predicted(estimate, row, s),
  };
}

function predicted(estimate: Estimate, row: readonly number[], s: number) {
  const answer = functional(estimate, row);
  return answer.determined
    ? { value: answer.value, standardUncertainty: s * Math.sqrt(answer.variance) }
    : { value: NaN, standardUncertainty: NaN };
}

/** Legendre polynomials of x from -1 to 1 up to a degree: powers that do not lean on one another. */
export function legendre(x: number, degree: number): number[] {
  const row = [1, x];
  for (let k = 1; k < degree; k++) row.push(((2 * k + 1) * x * row[k] - k * row[k - 1]) / (k + 1));
  return row.slice(0, degree + 1);
}
