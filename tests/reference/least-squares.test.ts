/** The engine against certified least-squares results. With a vague prior it is ordinary least squares. */
import { describe, expect, test } from 'vitest';
import { absorb, functional, mean, noInformation, solve, type Estimate } from '../../protocol/solver';
import plane from './data/02-plane-svd-minmax.json';
import filip from './data/02-strd-filip.json';
import longley from './data/02-strd-longley.json';
import norris from './data/02-strd-norris.json';
import pontius from './data/02-strd-pontius.json';
import thermometer from './data/03-gum-h3-thermometer.json';
import recursive from './data/10-rls-equals-batch.json';

/** Significant digits that agree: minus the logarithm of the relative error, 15 at most. */
function digits(value: number, certified: number): number {
  const error = Math.abs(value - certified) / Math.abs(certified);
  return error === 0 ? 15 : Math.min(15, -Math.log10(error));
}

function leastSquares(rows: readonly (readonly number[])[], observed: readonly number[]): Estimate {
  const columns = rows[0].map((_, j) => rows.map((row) => row[j]));
  return solve(absorb(noInformation(columns.length), { columns, observed, logScale: 0 }));
}

function powers(x: readonly number[], degree: number): number[][] {
  return x.map((value) => Array.from({ length: degree + 1 }, (_, k) => value ** k));
}

/** Fewest digits among the coefficients, and among their standard deviations. */
function fewestDigits(estimate: Estimate, expected: { b: readonly number[]; sd_b: readonly number[] }) {
  const s = Math.sqrt(estimate.sumOfSquares / estimate.degreesOfFreedom);
  const unit = (j: number) => expected.b.map((_, k) => (k === j ? 1 : 0));
  const answers = expected.b.map((_, j) => functional(estimate, unit(j)));
  return {
    b: Math.min(...answers.map((a, j) => (a.determined ? digits(a.value, expected.b[j]) : 0))),
    sd: Math.min(
      ...answers.map((a, j) => (a.determined ? digits(s * Math.sqrt(a.variance), expected.sd_b[j]) : 0)),
    ),
  };
}

const longleyRows = longley.data.x_rows.map((row) => [1, ...row]);

// NIST Statistical Reference Datasets, linear regression: certified coefficients and standard deviations.
describe('NIST StRD', () => {
  test.each([
    ['Norris', powers(norris.data.x, 1), norris.data.y, norris.expected, 9],
    ['Longley', longleyRows, longley.data.y, longley.expected, 9],
    ['Pontius', powers(pontius.data.x, 2), pontius.data.y, pontius.expected, 9],
    // Raw powers of degree 10: the condition (about 1e9 with scaled columns) takes digits that no double can keep.
    ['Filip', powers(filip.data.x, 10), filip.data.y, filip.expected, 6],
  ])('%s', (name, rows, y, expected, least) => {
    const estimate = leastSquares(rows, y);
    const { b, sd } = fewestDigits(estimate, expected);
    console.log(
      `${name}: ${b.toFixed(1)} digits of b, ${sd.toFixed(1)} of sd, condition ${estimate.condition.toExponential(1)}`,
    );
    expect(estimate.degreesOfFreedom).toBe(expected.df);
    expect(b).toBeGreaterThanOrEqual(least);
    expect(sd).toBeGreaterThanOrEqual(least);
    expect(digits(estimate.sumOfSquares, expected.residual_ss)).toBeGreaterThanOrEqual(least);
  });

  test('Filip with one power more than the data carry is refused, not answered', () => {
    const rows = powers(filip.data.x, 10).map((row) => [...row, row[1] + row[2]]);
    const estimate = leastSquares(rows, filip.data.y);
    expect(estimate.rank).toBe(11);
    expect(mean(estimate)).toBeUndefined();
    expect(functional(estimate, [0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]).determined).toBe(false);
    const constant = functional(estimate, [1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    expect(constant.determined && digits(constant.value, filip.expected.b[0])).toBeGreaterThanOrEqual(6);
  });

  // The identity is any textbook's; the numbers are Norris's and Longley's.
  test.each([
    ['Norris', powers(norris.data.x, 1), norris.data.y, recursive.expected.norris_b],
    ['Longley', longleyRows, longley.data.y, longley.expected.b],
  ])('%s, one row at a time, ends at the same answer', (_, rows, y, b) => {
    let known = noInformation(b.length);
    for (const [i, row] of rows.entries()) {
      known = absorb(known, { columns: row.map((h) => [h]), observed: [y[i]], logScale: 0 });
    }
    const found = mean(solve(known)) ?? [];
    for (const [j, value] of found.entries()) expect(digits(value, b[j])).toBeGreaterThanOrEqual(9);
    expect(found).toHaveLength(b.length);
  });
});

// JCGM 100:2008 (GUM), example H.3; the published figures are rounded, full digits were computed from the data.
test('GUM H.3, calibration of a thermometer', () => {
  const { t, b, t0 } = thermometer.data;
  const { expected } = thermometer;
  const estimate = leastSquares(
    t.map((value) => [1, value - t0]),
    b,
  );
  const s = Math.sqrt(estimate.sumOfSquares / estimate.degreesOfFreedom);
  const y1 = functional(estimate, [1, 0]);
  const y2 = functional(estimate, [0, 1]);
  const at30 = functional(estimate, [1, 10]);
  if (!y1.determined || !y2.determined || !at30.determined) throw new Error('not determined');
  expect(estimate.degreesOfFreedom).toBe(expected.dof);
  expect(s).toBeCloseTo(expected.s, 4);
  expect(y1.value).toBeCloseTo(expected.full_digits.y1, 12);
  expect(y2.value).toBeCloseTo(expected.full_digits.y2, 12);
  expect(s * Math.sqrt(y1.variance)).toBeCloseTo(expected.u_y1, 4);
  expect(s * Math.sqrt(y2.variance)).toBeCloseTo(expected.full_digits.u_y2, 12);
  const both = y1.root.reduce((sum, root, i) => sum + root * y2.root[i], 0);
  expect(both / Math.sqrt(y1.variance * y2.variance)).toBeCloseTo(expected.r_y1_y2, 2);
  expect(at30.value).toBeCloseTo(expected.b_at_30, 4);
  expect(s * Math.sqrt(at30.variance)).toBeCloseTo(expected.u_b_at_30, 4);
});

// Computed with numpy on a made-up set; see the file.
test('a plane through eight points', () => {
  const { a, b, c, residual_ss } = plane.expected.vertical_least_squares;
  const estimate = leastSquares(
    plane.data.points_xyz.map(([x, y]) => [1, x, y]),
    plane.data.points_xyz.map(([, , z]) => z),
  );
  const found = mean(estimate) ?? [];
  expect(found[0]).toBeCloseTo(a, 12);
  expect(found[1]).toBeCloseTo(b, 14);
  expect(found[2]).toBeCloseTo(c, 14);
  expect(estimate.sumOfSquares).toBeCloseTo(residual_ss, 12);
});
