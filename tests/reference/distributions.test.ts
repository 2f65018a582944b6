/** Normal and Student's t distributions, and conformity probabilities, against published tables. */
import { describe, expect, test } from 'vitest';
import {
  chiSquareAbove,
  chiSquareQuantile,
  fisherAbove,
  fisherQuantile,
  normalBelow,
  normalQuantile,
  probabilityOutside,
  studentBelow,
  studentQuantile,
} from '../../protocol/solver';
import g2 from './data/03-gum-table-g2-student-t.json';
import conformity from './data/03-jcgm106-conformance-probability.json';
import chiSquare from './data/09-chi-square.json';
import fisher from './data/09-f-distribution.json';
import normal from './data/09-normal.json';
import student from './data/09-student-t.json';

// Table values seen in public tables; the 15-digit values were computed with scipy (see the file).
describe('normal distribution', () => {
  test.each(Object.entries(normal.expected.cdf_15_digits))('below %s', (z, p) => {
    expect(Math.abs(normalBelow(Number(z)) / p - 1)).toBeLessThan(1e-12);
  });
  test.each(Object.entries(normal.expected.quantile))('quantile of %s', (p, z) => {
    expect(Math.abs(normalQuantile(Number(p)) / z - 1)).toBeLessThan(1e-12);
  });
});

// JCGM 100:2008 (GUM) table G.2, printed to two decimals (three for 100 degrees of freedom).
describe('Student t, GUM table G.2', () => {
  test.each(g2.expected.rows)('%d degrees of freedom', (dof, ...printed) => {
    for (const [k, t] of printed.entries()) {
      const quirk = g2.crosscheck.printed_differs.some((q) => q.dof === dof && q.printed === t);
      if (quirk) continue;
      const half = t >= 100 ? 0.06 : dof === 100 ? 0.0006 : 0.006;
      const tail = (1 - g2.data.fractions_percent[k] / 100) / 2;
      expect(studentBelow(-(t - half), dof)).toBeGreaterThan(tail);
      expect(studentBelow(-(t + half), dof)).toBeLessThan(tail);
    }
  });
});

// Published chi-square tables to five decimals (see the file).
describe('chi-square, upper tails', () => {
  test.each(Object.entries(chiSquare.expected.rows))('%s degrees of freedom', (dof, row) => {
    for (const [tail, value] of Object.entries(row)) {
      expect(chiSquareAbove(value - 0.0000051, Number(dof))).toBeGreaterThan(Number(tail));
      expect(chiSquareAbove(value + 0.0000051, Number(dof))).toBeLessThan(Number(tail));
    }
  });
});

// Published t table to three decimals, as in the NIST/SEMATECH e-Handbook 1.3.6.7.2.
describe('Student t, upper tails', () => {
  test.each(Object.entries(student.expected.rows))('%s degrees of freedom', (dof, printed) => {
    for (const [k, t] of printed.entries()) {
      expect(1 - studentBelow(t - 0.00051, Number(dof))).toBeGreaterThan(student.data.upper_tail[k]);
      expect(1 - studentBelow(t + 0.00051, Number(dof))).toBeLessThan(student.data.upper_tail[k]);
    }
  });

  // Closed forms for 1, 2 and 4 degrees of freedom (Abramowitz & Stegun 26.7.3 and 26.7.4).
  test.each([-30, -3, -1, -0.2, 0, 0.5, 2, 10])('closed forms at %d', (t) => {
    expect(Math.abs(studentBelow(t, 1) - (0.5 + Math.atan(t) / Math.PI))).toBeLessThan(1e-12);
    expect(Math.abs(studentBelow(t, 2) - (0.5 + t / (2 * Math.sqrt(2 + t * t))))).toBeLessThan(1e-12);
    const s = t / Math.sqrt(4 + t * t);
    expect(Math.abs(studentBelow(t, 4) - (0.5 + 0.75 * s - 0.25 * s * s * s))).toBeLessThan(1e-12);
  });

  test('many degrees of freedom: the normal distribution', () => {
    expect(Math.abs(studentBelow(-2, 1e6) - normalBelow(-2))).toBeLessThan(1e-6);
    expect(studentBelow(-2, Infinity)).toBe(normalBelow(-2));
  });
});

// Degrees of freedom that are not whole: the same values between the whole ones (scipy.stats.chi2.isf, run for this test).
test.each([
  [0.05, 2.5, 6.928076113],
  [0.975, 7.3, 1.833244287],
  [0.025, 41.25, 60.864865194],
])('chi-square above with probability %d, %d degrees of freedom', (p, dof, value) => {
  expect(Math.abs(chiSquareQuantile(p, dof) / value - 1)).toBeLessThan(1e-6);
});

// Published F tables (see the file), to 3e-5.
describe('Fisher F, upper tails', () => {
  test.each(Object.entries(fisher.expected.upper_tail))('%s', (key, p) => {
    const [f, dofs] = key.split(';');
    const [above, below] = dofs.split(',').map(Number);
    expect(Math.abs(fisherAbove(Number(f), above, below) - p)).toBeLessThan(3e-5);
    expect(Math.abs(fisherQuantile(p, above, below) / Number(f) - 1)).toBeLessThan(1e-3);
  });
  test('with infinite degrees of freedom it is chi-square over its own', () => {
    expect(Math.abs(fisherAbove(1.7, 6, Infinity) - chiSquareAbove(6 * 1.7, 6))).toBeLessThan(1e-12);
    expect(Math.abs(fisherAbove(1.7, 6, Infinity) - fisherAbove(1.7, 6, 1e6))).toBeLessThan(1e-5);
    expect(Math.abs(fisherAbove(1.7, Infinity, 6) - fisherAbove(1.7, 1e6, 6))).toBeLessThan(1e-5);
  });
});

// The t tables above, turned round; GUM G.2 gives 2.92 for 99 % and 16 degrees of freedom (as in H.1).
test('Student t, quantiles', () => {
  for (const [dof, printed] of Object.entries(student.expected.rows))
    for (const [k, t] of printed.entries())
      expect(Math.abs(studentQuantile(1 - student.data.upper_tail[k], Number(dof)) - t)).toBeLessThan(
        0.00051,
      );
  expect(studentQuantile(0.995, 16).toFixed(2)).toBe('2.92');
});

// JCGM 106:2012, section 7: inputs recalled from memory, probabilities recomputed with scipy (see the file).
test.each(conformity.data.cases.map((c, i) => [c.unit, c, conformity.expected.p_c[i]] as const))(
  'JCGM 106, probability of conformity, %s',
  (_, { y, u, lower, upper }, expected) => {
    const limits = { lowerMm: lower ?? -Infinity, upperMm: upper ?? Infinity };
    expect(1 - probabilityOutside(y, u, limits)).toBeCloseTo(expected, 5);
  },
);
