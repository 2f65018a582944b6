/** The engine beyond regression: a filter over a time series, and a matrix that is short of rank. */
import { describe, expect, test } from 'vitest';
import { absorb, functional, noInformation, priorInformation, solve } from '../../protocol/solver';
import nile from './data/10-kalman-nile.json';
import singular from './data/10-svd-golub-reinsch.json';

/**
 * Local-level model of the Nile's flow (J. Durbin & S. J. Koopman, Time Series Analysis by State Space Methods, 2001,
 * chapter 2): the levels of the years are the unknowns, the first with its start prior, each difference and each flow an
 * observation. What is known of the last level is what a Kalman filter has; figures computed, as the file says.
 */
describe('the level of the Nile, year by year', () => {
  const { y, var_eps, var_eta, start } = nile.data;
  const after = (years: number) => {
    const deviations = [Math.sqrt(start.P1), ...Array.from({ length: years - 1 }, () => Infinity)];
    const rows: { row: number[]; observed: number; sd: number }[] = [];
    for (let t = 0; t < years; t++) {
      const unit = (...at: [number, number][]) => {
        const row = Array.from({ length: years }, () => 0);
        for (const [i, v] of at) row[i] = v;
        return row;
      };
      rows.push({ row: unit([t, 1]), observed: y[t] ?? NaN, sd: Math.sqrt(var_eps) });
      if (t > 0) rows.push({ row: unit([t, 1], [t - 1, -1]), observed: 0, sd: Math.sqrt(var_eta) });
    }
    const known = absorb(
      priorInformation(
        deviations.map(() => start.a1),
        deviations,
      ),
      {
        columns: deviations.map((_, j) => rows.map(({ row, sd }) => (row[j] ?? NaN) / sd)),
        observed: rows.map(({ observed, sd }) => observed / sd),
        logScale: -rows.reduce((sum, { sd }) => sum + Math.log(sd), 0),
      },
    );
    const estimate = solve(known);
    const last = functional(
      estimate,
      deviations.map((_, j) => (j === years - 1 ? 1 : 0)),
    );
    if (!last.determined) throw new Error('the last level is determined');
    return { ...last, logEvidence: estimate.logEvidence };
  };

  test.each([1, 2, 100] as const)('year %i: level and variance', (years) => {
    const expected = nile.expected.computed[`t=${years}`];
    const { value, variance } = after(years);
    expect(value / expected.filtered).toBeCloseTo(1, 10);
    expect(variance / expected.P_filtered).toBeCloseTo(1, 10);
  });

  test('log-likelihood of all years but the first, as the book has it to the digits that it prints (-632.54)', () => {
    const likelihood = after(100).logEvidence - after(1).logEvidence;
    expect(likelihood).toBeCloseTo(nile.expected.computed.loglik_without_first, 6);
  });
});

// G. H. Golub & C. Reinsch, Numerische Mathematik 14 (1970) 403-420: 8 x 5, of rank 3.
describe('a matrix of rank 3 with five columns', () => {
  const rows = singular.data.A;
  const estimate = solve(
    absorb(noInformation(5), {
      columns: [0, 1, 2, 3, 4].map((j) => rows.map((row) => row[j] ?? NaN)),
      observed: rows.map((row) => row.reduce((sum, v) => sum + v, 0)),
      logScale: 0,
    }),
  );

  test('has the published rank', () => {
    expect(estimate.rank).toBe(singular.expected.rank);
    expect(estimate.degreesOfFreedom).toBe(rows.length - singular.expected.rank);
  });

  test('what its rows show is determined and right; single unknowns are not', () => {
    for (const row of rows) {
      const answer = functional(estimate, row);
      if (!answer.determined) throw new Error('a row shows itself');
      expect(answer.value).toBeCloseTo(
        row.reduce((sum, v) => sum + v, 0),
        9,
      );
    }
    for (let j = 0; j < 5; j++) {
      expect(
        functional(
          estimate,
          [0, 1, 2, 3, 4].map((i) => (i === j ? 1 : 0)),
        ).determined,
      ).toBe(false);
    }
  });
});
