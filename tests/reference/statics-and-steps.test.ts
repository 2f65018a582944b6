/** Statics and the choice of whole steps, against problems of the textbooks that have the same form. */
import { describe, expect, test } from 'vitest';
import { restDeck, turnInSteps, type Layout, type MeasureQuestion } from '../../protocol/solver';
import integers from './data/10-integer-least-squares.json';
import programs from './data/10-lp-two-textbook-problems.json';

/**
 * A deck at rest is a linear program: its weight's height is the greatest that shares of three pushes, together 1 and
 * balanced about the weight, can give (the dual of "lowest, with no support pierced"). A textbook program "maximise c x,
 * A x <= b, x >= 0" with three rows takes that form when slack variables make its rows equations and every column is
 * divided by the share that its sum has of the sum of b: column j then is a support at (A1j - b1, A2j - b2), of height cj.
 */
function asDeck(maximise: number[], rows: number[][], b: number[]) {
  const columns = [
    ...maximise.map((c, j) => ({ c, a: rows.map((row) => row[j] ?? NaN) })),
    ...b.map((_, i) => ({ c: 0, a: b.map((__, k) => (k === i ? 1 : 0)) })),
  ];
  const sum = (list: number[]) => list.reduce((x, y) => x + y, 0);
  const shares = columns.map(({ a }) => sum(a) / sum(b));
  const supports = columns.map(({ a }, j) => ({
    xMm: (a[0] ?? NaN) / (shares[j] ?? NaN) - (b[0] ?? NaN),
    yMm: (a[1] ?? NaN) / (shares[j] ?? NaN) - (b[1] ?? NaN),
  }));
  const heightsMm = columns.map(({ c }, j) => c / (shares[j] ?? NaN));
  return { supports, heightsMm, shares, columns };
}

// F. S. Hillier & G. J. Lieberman, Introduction to Operations Research, and the introductory example of the GLPK manual.
describe.each(programs.data.problems)('linear program: $name', ({ name, maximise, A_le, b }) => {
  const expected = programs.expected[name as 'glass' | 'glpk'];
  const { supports, heightsMm, shares, columns } = asDeck(maximise, A_le, b);
  const rest = restDeck(supports, heightsMm, { xMm: 0, yMm: 0 });
  if (rest === undefined) throw new Error('the deck tips over');

  test('the deck rests at the optimum of the program', () => {
    expect(rest.z0Mm).toBeCloseTo(expected.value, 9);
  });

  test('the variables of the optimum carry, and each slack is what its variable would cost, by the published duals', () => {
    columns.forEach(({ c, a }, j) => {
      const reducedCost = a.reduce((sum, value, i) => sum + value * (expected.dual[i] ?? NaN), 0) - c;
      expect(rest.slackMm[j]).toBeCloseTo(reducedCost / (shares[j] ?? NaN), 6);
    });
    maximise.forEach((_, j) => expect(rest.carrying[j]).toBe((expected.x[j] ?? NaN) > 0));
  });
});

/**
 * P. de Jonge & C. Tiberius, The LAMBDA method for integer ambiguity estimation, Delft 1996, eq. 3.37: the integers z
 * nearest to a in the metric Q. Three hangers on which the deck rests, one turn a millimetre and whole turns only; three
 * measures of equal uncertainty that are L^-1 (z - a) after z turns, with Q = L L'. Limits even about 0: to second order
 * the joint probability of being inside falls with the sum of squares, which is (a - z)' Q^-1 (a - z).
 */
test('whole steps of three adjusters: the integer least-squares solution, where plain rounding is another', () => {
  const { a, Q } = integers.data;
  const lower = cholesky(Q);
  const inverse = [0, 1, 2].map((k) =>
    solveLower(
      lower,
      [0, 1, 2].map((i) => (i === k ? 1 : 0)),
    ),
  );
  const w = (row: number, column: number) => inverse[column]?.[row] ?? NaN;
  const places = [
    { xMm: 400, yMm: 0 },
    { xMm: -200, yMm: 350 },
    { xMm: -200, yMm: -350 },
  ];
  // The tip at heading 0 of spindle k lies over hanger k.
  const layout: Layout = {
    spindles: places.map((p) => ({ xMm: p.xMm - 200, yMm: p.yMm, tipRadiusMm: 200 })),
    wheels: [
      { xMm: 0, yMm: 400 },
      { xMm: 0, yMm: -400 },
      { xMm: 1000, yMm: 0 },
    ],
    groundPlane: 'three wheels',
  };
  const questions = [0, 1, 2].map((row): MeasureQuestion => ({
    what: 'tips',
    name: `measure ${row}`,
    terms: [0, 1, 2].map((spindle) => ({ spindle, headingDeg: 0, weight: w(row, spindle) })),
    targetMm: 0,
    lowerMm: -1.5,
    upperMm: 1.5,
  }));
  const measures = questions.map(({ name }, row) => ({
    name,
    determined: true as const,
    valueMm: -a.reduce((sum, value, k) => sum + w(row, k) * value, 0),
    standardUncertaintyMm: 1,
  }));
  const hanging = {
    hangers: places,
    centreOfGravity: { xMm: 0, yMm: 0 },
    adjusters: places.map((_, hanger) => ({
      moves: [{ hanger, mmPerTurn: 1 }],
      ratioUncertainty: 1e-9,
      travelTurns: [-20, 20] as const,
    })),
  };
  const found = turnInSteps({ layout, measures }, hanging, questions, [true, true, true], [1, 1, 1]);
  expect(found?.steps).toEqual(integers.expected.best.z);
  expect(found?.steps).not.toEqual(integers.expected.rounding_gives);
});

function cholesky(matrix: number[][]): number[][] {
  const lower = matrix.map((row) => row.map(() => 0));
  matrix.forEach((row, i) => {
    for (let j = 0; j <= i; j++) {
      const sum = (lower[i] ?? []).slice(0, j).reduce((s, v, k) => s + v * (lower[j]?.[k] ?? NaN), 0);
      const rest = (row[j] ?? NaN) - sum;
      lower[i][j] = i === j ? Math.sqrt(rest) : rest / (lower[j]?.[j] ?? NaN);
    }
  });
  return lower;
}

function solveLower(lower: number[][], rhs: number[]): number[] {
  return rhs.reduce<number[]>((x, value, i) => {
    const sum = x.reduce((s, v, k) => s + v * (lower[i]?.[k] ?? NaN), 0);
    return [...x, (value - sum) / (lower[i]?.[i] ?? NaN)];
  }, []);
}
