/** Control charts, run rules, constants and Grubbs' test against published examples. */
import { describe, expect, test } from 'vitest';
import {
  chartConstants,
  rangeFactor,
  tabulatedConstants,
} from '../../host/gauging/statistics/chart-constants';
import { ewmaChart, individualsChart, subgroupCharts } from '../../host/gauging/statistics/control-chart';
import { grubbs } from '../../host/gauging/statistics/grubbs';
import { NELSON, runSignals, WESTERN_ELECTRIC } from '../../host/gauging/statistics/run-rules';
import constants from './data/04-control-chart-constants.json';
import ewma from './data/04-nist-ewma.json';
import grubbsExample from './data/04-nist-grubbs.json';
import individuals from './data/04-nist-individuals.json';
import rules from './data/04-run-rules.json';

// ASTM STP 15D and textbook tables, three decimals (c4 four).
describe('control-chart constants', () => {
  test.each(constants.expected.rows)('n = %d', (n, ...printed) => {
    const found = tabulatedConstants(n);
    constants.data.columns.slice(1).forEach((name, i) => {
      expect(Math.abs(found[name as keyof typeof found] - printed[i])).toBeLessThan(0.0011);
    });
  });
  test('closed forms: d2 and d3 of two, d2 of three, c4 of two and three', () => {
    expect(Math.abs(chartConstants(2).d2 - 2 / Math.sqrt(Math.PI))).toBeLessThan(1e-7);
    expect(Math.abs(chartConstants(2).d3 - Math.sqrt(2 - 4 / Math.PI))).toBeLessThan(1e-7);
    expect(Math.abs(chartConstants(3).d2 - 3 / Math.sqrt(Math.PI))).toBeLessThan(1e-7);
    expect(Math.abs(chartConstants(2).c4 - Math.sqrt(2 / Math.PI))).toBeLessThan(1e-12);
    expect(Math.abs(chartConstants(3).c4 - Math.sqrt(Math.PI) / 2)).toBeLessThan(1e-12);
  });
  // Factors K1, K2 and K3 of gauge report forms (MSA manual, table of d2*), from memory but for 0.5908, 0.5231 and 0.3146.
  test('factors of average-and-range studies', () => {
    expect([2, 3].map((n) => rangeFactor(n, Infinity))).toEqual([0.8862, 0.5908]);
    expect([2, 3].map((n) => rangeFactor(n, 1))).toEqual([0.7071, 0.5231]);
    expect([4, 5, 6, 7, 8, 9, 10].map((n) => rangeFactor(n, 1))).toEqual([
      0.4467, 0.403, 0.3742, 0.3534, 0.3375, 0.3249, 0.3146,
    ]);
  });
});

// NIST/SEMATECH e-Handbook 6.3.2.2.
test('individuals chart', () => {
  const { readings, movingRanges } = individualsChart(individuals.data.x);
  expect(readings.centre.toFixed(2)).toBe('50.81');
  expect(movingRanges.centre.toFixed(4)).toBe('1.8778');
  expect(readings.upper[0].toFixed(4)).toBe(individuals.expected.UCL.toFixed(4));
  expect(readings.lower[0].toFixed(4)).toBe(individuals.expected.LCL.toFixed(4));
  expect(readings.beyond).toEqual([]);
});

// NIST/SEMATECH e-Handbook 6.3.2.4; the page prints two decimals of the average.
test('EWMA chart', () => {
  const { x, lambda, ewma_0, s } = ewma.data;
  const chart = ewmaChart(x, { lambda, target: ewma_0, sigma: s });
  ewma.expected.ewma_0_to_20.slice(1).forEach((printed, i) => {
    expect(Math.abs(chart.points[i] - printed)).toBeLessThan(0.0061);
  });
  expect(chart.upper[0]).toBeCloseTo(ewma.expected.UCL, 4);
  expect(chart.lower[0]).toBeCloseTo(ewma.expected.LCL, 3);
  expect(chart.beyond).toEqual([]);
  const exact = ewmaChart(x, { lambda, target: ewma_0, sigma: s, limits: 'exact' });
  expect(exact.upper[0] - 50).toBeCloseTo(3 * lambda * s, 12);
  expect(exact.upper[19]).toBeCloseTo(chart.upper[19], 2);
});

// Western Electric 1956 and Nelson 1984; the sequences are made up, a short program confirmed what fires (see the file).
describe('run rules', () => {
  test.each(rules.expected.own_test_sequences_in_sd_units)('$fires', ({ x, fires }) => {
    const found = runSignals(x, [...NELSON, ...WESTERN_ELECTRIC]);
    expect([...new Set(found.map((s) => s.rule))].sort()).toEqual([...fires].sort());
    for (const rule of fires) expect(found).toContainEqual({ rule, at: x.length - 1 });
  });
});

// Limits from published constants (A2, D3, D4, A3, B3, B4 of five): the definition of the charts, by hand.
test('charts of subgroups', () => {
  const groups = [
    [10, 12, 11, 13, 9],
    [11, 10, 12, 14, 8],
    [9, 11, 10, 10, 12],
  ];
  const byRange = subgroupCharts(groups, 'range');
  expect(byRange.means.centre).toBeCloseTo(10.8, 12);
  expect(byRange.spreads.centre).toBeCloseTo(13 / 3, 12);
  expect(byRange.means.upper[0]).toBeCloseTo(10.8 + 0.577 * (13 / 3), 10);
  expect(byRange.spreads.upper[0]).toBeCloseTo(2.114 * (13 / 3), 10);
  const bySd = subgroupCharts(groups, 'sd');
  const meanSd = (Math.sqrt(2.5) + Math.sqrt(5) + Math.sqrt(1.3)) / 3;
  expect(bySd.spreads.centre).toBeCloseTo(meanSd, 12);
  expect(bySd.means.lower[0]).toBeCloseTo(10.8 - 1.427 * meanSd, 10);
  expect(bySd.spreads.upper[0]).toBeCloseTo(2.089 * meanSd, 10);
});

// NIST/SEMATECH e-Handbook 1.3.5.17.1.
test('Grubbs', () => {
  const { x, alpha } = grubbsExample.data;
  const found = grubbs(x, 'largest', alpha);
  expect(found?.G).toBeCloseTo(grubbsExample.expected.G, 3);
  expect(found?.critical.toFixed(3)).toBe(grubbsExample.expected.critical.toFixed(3));
  expect(found?.isOutlier).toBe(true);
  expect(x[found?.suspect ?? 0]).toBe(245.57);
  expect(grubbs(x.slice(0, 7), 'largest', alpha)?.isOutlier).toBe(false);
  expect(grubbs([1, 1, 1])).toBeUndefined();
});
