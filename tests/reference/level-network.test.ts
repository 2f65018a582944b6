/** Level networks against published examples (sources in the data file), and against a general library's least squares. */
import { Matrix, solve as solveMatrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { adjustLevels, type LevelAdjustment, type LevelStep } from '../../protocol/solver';
import { seededRandom } from '../../host/simulation/random';
import published from './data/10-level-network.json';

const heights = (adjusted: LevelAdjustment) => adjusted.heights.map((h) => (h.determined ? h.heightMm : NaN));

describe('a loop walked both ways', () => {
  const { data, expected } = published.loop;
  const place = (name: string | number) => data.points.indexOf(String(name));
  const steps = data.rises.map(([from, to, rise]): LevelStep => ({
    from: place(from),
    to: place(to),
    riseMm: 1000 * Number(rise),
    standardUncertaintyMm: data.a_priori_deviation_mm,
  }));
  const network = { points: 4, held: [{ point: 0, heightMm: 1e6 }], staff: [], steps };
  const adjusted = adjustLevels(network);

  test('heights and deviations', () => {
    for (const [name, height] of Object.entries(expected.heights)) {
      const found = adjusted.heights[place(name)];
      if (!found.determined) throw new Error(name);
      // Printed to 0.01 mm and to 0.1 mm.
      expect(Math.abs(found.heightMm - 1000 * height)).toBeLessThan(0.0051);
      const deviation = expected.deviations_mm[name as keyof typeof expected.deviations_mm];
      expect(Math.abs(found.standardUncertaintyMm - deviation)).toBeLessThan(0.051);
    }
  });

  test('sum of squares, degrees of freedom and the worst residual', () => {
    expect(adjusted.chiSquare * 25).toBeCloseTo(expected.sum_of_squares_mm2, 2);
    expect(adjusted.degreesOfFreedom).toBe(expected.degrees_of_freedom);
    expect(5 * Math.sqrt(adjusted.chiSquare / 5)).toBeCloseTo(expected.a_posteriori_deviation_mm, 1);
    const sizes = adjusted.residuals.map((r) => (r.determined ? Math.abs(r.standardised) : 0));
    const largest = Math.max(...sizes);
    expect(largest).toBeCloseTo(expected.largest_standardised_residual, 2);
    expect(sizes.indexOf(largest) + 1).toBe(expected.its_observation);
    expect(adjusted.suspect).toBe(-1);
  });

  test('misclosures are the sums round the loops, worked by hand', () => {
    // The first three rises reach every point. The fourth closes the loop forward, -1.225 - 0.848 + 1.342 + 0.720; the
    // fifth closes it by the way back from 1a, 0.731 - 0.724; the others close a leg with its own way back.
    const found = adjusted.misclosures.map((m) => [m.observation + 1, Math.round(m.valueMm)]);
    expect(found).toEqual([
      [4, -11],
      [5, 7],
      [6, 7],
      [7, -6],
      [8, 6],
    ]);
    for (const m of adjusted.misclosures) {
      const observations = (m.allowanceMm / 20) ** 2;
      expect([2, 4].map((n) => Math.abs(observations - n) < 1e-9)).toContain(true);
    }
  });

  test('a step misread by 100 mm is named', () => {
    const wrong = steps.map((s, i) => (i === 2 ? { ...s, riseMm: s.riseMm + 100 } : s));
    expect(adjustLevels({ ...network, steps: wrong }).suspect).toBe(2);
  });
});

test('a net between three known heights', () => {
  const { data, expected } = published.net;
  const names = ['A', 'B', 'C', 'E', 'F'];
  const adjusted = adjustLevels({
    points: 5,
    held: Object.entries(data.held).map(([name, height]) => ({
      point: names.indexOf(name),
      heightMm: 1000 * height,
    })),
    staff: [],
    steps: data.rises.map(([from, to, rise, length]) => ({
      from: names.indexOf(String(from)),
      to: names.indexOf(String(to)),
      riseMm: 1000 * Number(rise),
      standardUncertaintyMm: data.deviation_mm_per_root_km * Math.sqrt(Number(length) / 1000),
    })),
  });
  expect(adjusted.chiSquare).toBeCloseTo(expected.chi_square, 3);
  expect(adjusted.degreesOfFreedom).toBe(expected.degrees_of_freedom);
  expect(Math.sqrt(adjusted.chiSquare / 3)).toBeCloseTo(expected.error_factor, 3);
});

describe('staff readings', () => {
  const { data, expected } = published.staff;
  const names = [...new Set(data.set_ups.flatMap((s) => Object.keys(s)))];
  const staff = data.set_ups.flatMap((readings, setUp) =>
    Object.entries(readings as Record<string, number>).map(([name, reading]) => ({
      setUp,
      point: names.indexOf(name),
      readingMm: 1000 * reading,
      standardUncertaintyMm: 2,
    })),
  );
  const start = { point: names.indexOf(data.start.point), heightMm: 1000 * data.start.height };
  const end = { point: names.indexOf(data.end.point), heightMm: 1000 * data.end.height };

  test('a line from one bench mark: the reduced levels of the booking', () => {
    const found = heights(adjustLevels({ points: names.length, held: [start], staff, steps: [] }));
    for (const [name, height] of Object.entries(expected.unadjusted)) {
      expect(found[names.indexOf(name)]).toBeCloseTo(1000 * height, 6);
    }
  });

  test('to a second bench mark: the misclosure, and five set-ups share it', () => {
    const adjusted = adjustLevels({ points: names.length, held: [start, end], staff, steps: [] });
    expect(adjusted.misclosures).toHaveLength(1);
    expect(Math.abs(adjusted.misclosures[0].valueMm)).toBeCloseTo(-1000 * expected.misclosure, 6);
    // Equal weights: each set-up on the line takes an equal part, so D, after two of five, is lowered by two fifths.
    const d = heights(adjusted)[names.indexOf('D')];
    expect(d).toBeCloseTo(1000 * expected.unadjusted.D - (2 / 5) * 10, 6);
  });
});

test('what hangs on nothing is not determined, and neither is anything without an uncertainty', () => {
  const steps = [
    { from: 0, to: 1, riseMm: 5, standardUncertaintyMm: 0.1 },
    { from: 2, to: 3, riseMm: 7, standardUncertaintyMm: 0.1 },
  ];
  const found = adjustLevels({ points: 4, staff: [], steps });
  expect(found.heights.map((h) => h.determined)).toEqual([true, true, false, false]);
  expect(found.misclosures).toEqual([]);
  expect(found.residuals.map((r) => r.determined)).toEqual([false, false]);
  const none = adjustLevels({ points: 2, staff: [], steps: [{ ...steps[0], standardUncertaintyMm: 0 }] });
  expect(none.heights.map((h) => h.determined)).toEqual([false, false]);
});

test('two set-ups over random points: heights and covariance as ml-matrix has them', () => {
  const random = seededRandom(11);
  const points = 7;
  const staff = [0, 1, 1, 0].flatMap((setUp, round) =>
    Array.from({ length: points }, (_, point) => ({
      setUp,
      point,
      readingMm: 1500 + random.normal(20) + 100 * setUp,
      standardUncertaintyMm: 0.2 + 0.1 * round,
    })),
  );
  const adjusted = adjustLevels({ points, staff, steps: [] });
  // Unknowns: points 1 to 6, two set-ups.
  const row = (s: (typeof staff)[number]) =>
    Array.from({ length: 8 }, (_, j) => (j === s.point - 1 ? -1 : j === 6 + s.setUp ? 1 : 0));
  const weighted = (of: (s: (typeof staff)[number]) => number[]) =>
    new Matrix(staff.map((s) => of(s).map((v) => v / s.standardUncertaintyMm)));
  const a = weighted(row);
  const y = weighted((s) => [s.readingMm]);
  const inverse = solveMatrix(a.transpose().mmul(a), Matrix.eye(8));
  const x = inverse.mmul(a.transpose().mmul(y));
  for (let p = 1; p < points; p += 1) {
    expect(heights(adjusted)[p]).toBeCloseTo(x.get(p - 1, 0), 8);
    for (let q = 1; q <= p; q += 1)
      expect(adjusted.covariance[p]?.[q]).toBeCloseTo(inverse.get(p - 1, q - 1), 10);
  }
});
