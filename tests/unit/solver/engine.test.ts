/** The engine against a general linear-algebra library (ml-matrix) on random problems, and where it must not answer. */
import { inverse, determinant, Matrix, solve as solveMatrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import {
  absorb,
  covariance,
  functional,
  mean,
  noInformation,
  predictiveResidual,
  priorInformation,
  solve,
  type Answer,
} from '../../../protocol/solver';
import { cholesky, logWhitening, whiten } from '../../../protocol/solver/whiten';
import { seededRandom, type Random } from '../../../host/simulation/random';

function known(answer: Answer): Extract<Answer, { determined: true }> {
  if (!answer.determined) throw new Error('not determined');
  return answer;
}

function randomMatrix(random: Random, rows: number, columns: number): Matrix {
  return new Matrix(
    Array.from({ length: rows }, () => Array.from({ length: columns }, () => random.normal(1))),
  );
}

function unit(size: number, j: number): number[] {
  return Array.from({ length: size }, (_, k) => (k === j ? 1 : 0));
}

function relative(found: number, expected: number, size: number): number {
  return Math.abs(found - expected) / Math.max(Math.abs(expected), size);
}

test('2000 random plane fits agree with ml-matrix to 1e-10 relative', () => {
  const random = seededRandom(1);
  let worst = 0;
  let fitted = 0;
  for (let round = 0; round < 2000; round++) {
    const count = 3 + Math.floor(random.uniform() * 20);
    const x = Array.from({ length: count }, () => random.between(-300, 1200));
    const y = Array.from({ length: count }, () => random.between(-700, 700));
    const z = x.map((at, i) => 75 + 0.01 * at - 0.02 * y[i] + random.normal(1));
    const columns = [x.map(() => 1), x, y];
    const found = mean(solve(absorb(noInformation(3), { columns, observed: z, logScale: 0 }))) ?? [];
    // The library's default, LU for square and QR for tall systems.
    const expected = solveMatrix(new Matrix(columns).transpose(), Matrix.columnVector(z)).to1DArray();
    // Three or four random points can lie almost in line; the digits that both then lose say nothing.
    const spread = determinant(new Matrix(columns).mmul(new Matrix(columns).transpose()));
    if (spread < 1e10) continue;
    fitted += 1;
    const size = Math.abs(expected[0]);
    const scales = [size, size / 1000, size / 1000];
    for (let j = 0; j < 3; j++) worst = Math.max(worst, relative(found[j], expected[j], scales[j]));
  }
  expect(worst).toBeLessThan(1e-10);
  expect(fitted).toBeGreaterThan(1900);
});

test('random linear-Gaussian problems agree with the normal formulas in ml-matrix', () => {
  const random = seededRandom(2);
  for (let round = 0; round < 200; round++) {
    const size = 1 + Math.floor(random.uniform() * 8);
    const count = 1 + Math.floor(random.uniform() * 15);
    const design = randomMatrix(random, count, size);
    const means = Array.from({ length: size }, () => random.normal(3));
    const deviations = Array.from({ length: size }, () => random.between(0.2, 3));
    const root = randomMatrix(random, count, count);
    const noise = root.mmul(root.transpose()).add(Matrix.eye(count));
    const observed = Array.from({ length: count }, () => random.normal(5));

    const lower = cholesky(noise.to2DArray());
    if (lower === undefined) throw new Error('not positive definite');
    const columns = Array.from({ length: size }, (_, j) => whiten(lower, design.getColumn(j), 0));
    const rows = { columns, observed: whiten(lower, observed, 0), logScale: logWhitening(lower) };
    const estimate = solve(absorb(priorInformation(means, deviations), rows));

    // Covariance form: P = (D^-2 + H' R^-1 H)^-1, m = P (D^-2 m0 + H' R^-1 y); evidence from the density of y itself.
    const prior = Matrix.diag(deviations.map((d) => d * d));
    const back = design.transpose().mmul(inverse(noise));
    const information = inverse(prior).add(back.mmul(design));
    const posterior = inverse(information);
    const pull = inverse(prior).mmul(Matrix.columnVector(means));
    pull.add(back.mmul(Matrix.columnVector(observed)));
    const expected = posterior.mmul(pull).to1DArray();
    const answers = expected.map((_, j) => known(functional(estimate, unit(size, j))));
    for (let j = 0; j < size; j++) {
      expect(mean(estimate)?.[j]).toBeCloseTo(expected[j], 10);
      expect(answers[j].value).toBeCloseTo(expected[j], 10);
      for (let k = 0; k < size; k++) {
        expect(covariance(answers[j].root, answers[k].root)).toBeCloseTo(posterior.get(j, k), 10);
      }
    }
    const spread = design.mmul(prior).mmul(design.transpose()).add(noise);
    const miss = Matrix.columnVector(observed).sub(design.mmul(Matrix.columnVector(means)));
    const chi = miss.transpose().mmul(inverse(spread)).mmul(miss).get(0, 0);
    const density = -0.5 * (chi + Math.log(determinant(spread)) + count * Math.log(2 * Math.PI));
    expect(estimate.sumOfSquares).toBeCloseTo(chi, 8);
    expect(estimate.degreesOfFreedom).toBe(count);
    expect(estimate.logEvidence).toBeCloseTo(density, 8);
    const coming = Array.from({ length: size }, () => random.normal(1));
    const residual = known(predictiveResidual(estimate, coming, 7));
    const row = new Matrix([coming]);
    expect(residual.value).toBeCloseTo(7 - row.mmul(Matrix.columnVector(expected)).get(0, 0), 9);
    expect(residual.variance).toBeCloseTo(1 + row.mmul(posterior).mmul(row.transpose()).get(0, 0), 9);
  }
});

describe('what the rows do not reach is not answered', () => {
  // Only x0 + x1 and x2 were seen.
  const columns = [
    [1, 1, 0],
    [1, 1, 0],
    [0, 0, 2],
  ];
  const estimate = solve(absorb(noInformation(3), { columns, observed: [4, 6, 8], logScale: 0 }));

  test('sum yes, parts no', () => {
    expect(estimate.rank).toBe(2);
    expect(mean(estimate)).toBeUndefined();
    expect(estimate.logEvidence).toBe(-Infinity);
    const sum = known(functional(estimate, [1, 1, 0]));
    expect(sum.value).toBeCloseTo(5, 12);
    expect(sum.variance).toBeCloseTo(0.5, 12);
    expect(known(functional(estimate, [-2, -2, 1])).value).toBeCloseTo(-6, 12);
    expect(functional(estimate, [1, 0, 0])).toEqual({ determined: false });
    expect(predictiveResidual(estimate, [1, -1, 0], 0)).toEqual({ determined: false });
  });

  test('units do not decide what is known', () => {
    const tiny = columns.map((column, j) => column.map((h) => h * [1e-9, 1, 1e9][j]));
    const scaled = solve(absorb(noInformation(3), { columns: tiny, observed: [4, 6, 8], logScale: 0 }));
    expect(scaled.rank).toBe(2);
    expect(known(functional(scaled, [1e-9, 1, 0])).value).toBeCloseTo(5, 12);
  });

  test('nothing absorbed, nothing known', () => {
    const empty = solve(noInformation(2));
    expect(empty.rank).toBe(0);
    expect(functional(empty, [1, 0])).toEqual({ determined: false });
  });
});

test('a prior a million times wider than the noise costs no digits', () => {
  const columns = [
    [1, 1, 1],
    [0, 1, 2],
  ];
  const rows = { columns, observed: [1, 3, 5], logScale: 0 };
  const wide = mean(solve(absorb(priorInformation([0, 0], [1e12, 1e12]), rows))) ?? [];
  expect(wide[0]).toBeCloseTo(1, 12);
  expect(wide[1]).toBeCloseTo(2, 12);
});
