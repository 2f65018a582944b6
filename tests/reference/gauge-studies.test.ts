/** Gauge studies against published ones. Where a file says "derived" its data are published and its results computed elsewhere. */
import { describe, expect, test } from 'vitest';
import { averageRangeStudy } from '../../host/gauging/study/average-range';
import { offsetOf } from '../../host/gauging/study/bias';
import type { StudyReading } from '../../host/gauging/study/readings';
import {
  component,
  countingAnalysis,
  varianceStudy,
  type Analysis,
} from '../../host/gauging/study/variance-study';
import { pooled } from '../../host/gauging/statistics/spread';
import { stability } from '../../host/gauging/statistics/stability';
import averageRange from './data/04-grr-msa-average-range.json';
import bias from './data/04-nist-gauge-bias-mpc61a.json';
import gaugeStudy from './data/04-nist-gauge-study-mpc61.json';
import houf from './data/04-grr-houf-burman.json';
import level2 from './data/04-nist-reproducibility-level2.json';
import msa from './data/04-grr-msa-10x3x3.json';
import pooling from './data/04-nist-repeatability-pooling.json';

/** Rows are parts; columns operator 1 trials 1 to 3, operator 2 trials 1 to 3, ... */
function readingsOf(rows: readonly (readonly number[])[], trials: number): StudyReading[] {
  return rows.flatMap((row, i) =>
    row.map((value, k) => ({
      part: `${i + 1}`,
      operator: `${Math.floor(k / trials) + 1}`,
      trial: `${(k % trials) + 1}`,
      value,
    })),
  );
}

const row = (analysis: Analysis, source: string) => analysis.anova.find((r) => r.source === source);

// Measurement Systems Analysis reference manual, 4th edition: 10 parts, 3 appraisers, 3 trials, ANOVA.
describe('MSA manual, 10 x 3 x 3', () => {
  const study = varianceStudy(readingsOf(msa.data.rows, 3), {
    tolerance: msa.data.tolerance_for_percent_tolerance,
  });
  const full = study.withInteraction as Analysis;
  const expected = msa.expected;

  test('analysis of variance to the printed digits', () => {
    for (const source of ['part', 'operator', 'interaction', 'repeatability'] as const) {
      const { df, ss, ms } = expected.anova_full[source];
      expect(row(full, source)?.degreesOfFreedom).toBe(df);
      expect(row(full, source)?.sumOfSquares).toBeCloseTo(ss, 4);
      expect(row(full, source)?.meanSquare).toBeCloseTo(ms, 5);
    }
    expect(row(full, 'total')?.sumOfSquares).toBeCloseTo(expected.anova_full.total.ss, 4);
    expect(row(full, 'part')?.F?.toFixed(3)).toBe('492.291');
    expect(row(full, 'operator')?.F?.toFixed(3)).toBe('79.406');
    expect(row(full, 'interaction')?.F?.toFixed(3)).toBe('0.434');
    expect(row(full, 'interaction')?.p?.toFixed(3)).toBe('0.974');
    expect(component(full, 'repeatability')?.sd).toBeCloseTo(expected.not_pooled_repeatability_sd, 5);
  });

  test('the interaction is pooled, and the usual quantities come out as printed', () => {
    expect(study.counts).toBe('without interaction');
    const used = countingAnalysis(study);
    expect(row(used, 'repeatability')?.degreesOfFreedom).toBe(expected.pooled.df);
    expect(row(used, 'repeatability')?.sumOfSquares).toBeCloseTo(expected.pooled.ss, 4);
    const gauge = component(used, 'gauge');
    const part = component(used, 'part');
    expect(gauge?.variance.toFixed(5)).toBe(expected.variance_components.grr.toFixed(5));
    expect(component(used, 'repeatability')?.variance.toFixed(5)).toBe('0.03997');
    expect(component(used, 'reproducibility')?.variance.toFixed(5)).toBe('0.05146');
    expect(part?.variance.toFixed(5)).toBe('1.08645');
    expect(component(used, 'total')?.variance.toFixed(5)).toBe('1.17788');
    expect(gauge?.contributionPercent.toFixed(2)).toBe('7.76');
    expect(component(used, 'repeatability')?.contributionPercent.toFixed(2)).toBe('3.39');
    expect(component(used, 'reproducibility')?.contributionPercent.toFixed(2)).toBe('4.37');
    expect(part?.contributionPercent.toFixed(2)).toBe('92.24');
    expect(component(used, 'repeatability')?.sd.toFixed(6)).toBe('0.199933');
    expect(component(used, 'reproducibility')?.sd.toFixed(6)).toBe('0.226838');
    // Printed 0.302373; unrounded components (numpy, see the file) give 0.3023715.
    expect(Math.abs((gauge?.sd ?? 0) - expected.sd.grr)).toBeLessThan(2e-6);
    expect(part?.sd.toFixed(6)).toBe('1.042327');
    expect(gauge?.studyPercent.toFixed(2)).toBe('27.86');
    expect(component(used, 'repeatability')?.studyPercent.toFixed(2)).toBe('18.42');
    expect(component(used, 'reproducibility')?.studyPercent.toFixed(2)).toBe('20.90');
    expect(part?.studyPercent.toFixed(2)).toBe('96.04');
    expect(gauge?.tolerancePercent?.toFixed(2)).toBe('22.68');
    expect(part?.tolerancePercent?.toFixed(2)).toBe('78.17');
    expect(used.distinctCategories).toBe(expected.ndc);
    expect(used.distinctCategoriesUncut).toBeCloseTo(expected.ndc_unrounded, 2);
  });

  // Reports of statistics packages for these data state 5.15 and 6 standard deviations.
  test('multiplier and tolerance scale as they should', () => {
    const old = countingAnalysis(
      varianceStudy(readingsOf(msa.data.rows, 3), { tolerance: 8, multiplier: 5.15 }),
    );
    const now = countingAnalysis(study);
    const ratio =
      (component(old, 'gauge')?.tolerancePercent ?? 0) / (component(now, 'gauge')?.tolerancePercent ?? 1);
    expect(ratio).toBeCloseTo(5.15 / 6, 12);
    expect(component(old, 'gauge')?.studyPercent).toBe(component(now, 'gauge')?.studyPercent);
  });

  test('average-and-range method', () => {
    const found = averageRangeStudy(readingsOf(msa.data.rows, 3));
    const { expected: wanted, data } = averageRange;
    expect([found.K1, found.K2, found.K3]).toEqual([data.K1, data.K2, data.K3]);
    expect(found.meanRange).toBeCloseTo(wanted.mean_range, 12);
    expect(found.rangeOfOperatorMeans).toBeCloseTo(wanted.range_of_appraiser_means, 12);
    expect(found.rangeOfPartMeans).toBeCloseTo(wanted.range_of_part_means, 12);
    for (const name of ['EV', 'AV', 'GRR', 'PV', 'TV'] as const)
      expect(found[name]).toBeCloseTo(wanted[name], 10);
    for (const name of ['EV', 'AV', 'GRR', 'PV'] as const)
      expect(found.studyPercent[name]).toBeCloseTo(wanted.percent[name], 9);
    expect(found.distinctCategories).toBe(wanted.ndc);
    // The printed figures, from memory, were worked by hand with rounded steps: the last digit moves.
    expect(Math.abs(found.GRR - wanted.printed_from_memory.GRR)).toBeLessThan(3e-5);
    expect(found.studyPercent.GRR.toFixed(2)).toBe('26.68');
  });
});

// Houf & Burman 1988, data published, components computed with R (see the file): the interaction is real and kept.
test('Houf and Burman: the interaction is kept', () => {
  const study = varianceStudy(readingsOf(houf.data.rows, 3), { tolerance: 40 });
  expect(study.counts).toBe('with interaction');
  expect(study.mean).toBeCloseTo(35.8, 10);
  const used = countingAnalysis(study);
  for (const source of ['part', 'operator', 'interaction', 'repeatability'] as const) {
    expect(row(used, source)?.degreesOfFreedom).toBe(houf.expected.anova[source].df);
    expect(row(used, source)?.sumOfSquares).toBeCloseTo(houf.expected.anova[source].ss, 6);
  }
  expect(row(used, 'interaction')?.F).toBeCloseTo(houf.expected.anova.interaction.F, 5);
  expect(row(used, 'interaction')?.p).toBeCloseTo(houf.expected.anova.interaction.p, 10);
  for (const [name, variance] of Object.entries(houf.expected.variance_components_interaction_kept))
    expect(component(used, name as 'part')?.variance).toBeCloseTo(variance, 8);
});

// NIST/SEMATECH e-Handbook 2.4.4.4: sums of squares of five check wafers, 60 degrees of freedom each.
test('NIST, pooled repeatability', () => {
  const { sum_of_squares, dof_each } = pooling.data;
  const found = pooled(
    sum_of_squares.map((ss) => ({ sd: Math.sqrt(ss / dof_each), degreesOfFreedom: dof_each })),
  );
  expect(found.degreesOfFreedom).toBe(pooling.expected.dof);
  expect(found.sd.toFixed(4)).toBe('0.1029');
});

// NIST/SEMATECH e-Handbook 2.4.4.2: wafer 140, two runs of six days.
test('NIST, level-2 reproducibility', () => {
  const { run1_day_averages, run1_day_sd, run2_day_averages, run2_day_sd, dof_of_each_day_sd } = level2.data;
  const days = (run: string, means: readonly number[], sds: readonly number[]) =>
    means.map((mean, i) => ({
      item: '140',
      run,
      mean,
      repeats: { sd: sds[i], degreesOfFreedom: dof_of_each_day_sd },
    }));
  const found = stability([
    ...days('1', run1_day_averages, run1_day_sd),
    ...days('2', run2_day_averages, run2_day_sd),
  ]);
  expect(found.runs[0].dayToDay.sd.toFixed(5)).toBe('0.02728');
  expect(found.runs[1].dayToDay.sd.toFixed(5)).toBe('0.02756');
  const both = pooled(found.runs.map((r) => r.dayToDay));
  expect(both.sd.toFixed(5)).toBe('0.02742');
  expect(both.degreesOfFreedom).toBe(level2.expected.dof);
  expect(found.runToRun?.sd).toBeCloseTo(level2.crosscheck.level3_stability_from_run_means_1_dof, 10);
});

// NIST/SEMATECH e-Handbook 2.6.1, data file MPC61.DAT; standard deviations computed with numpy (see the file).
test('NIST, three levels of a gauge study', () => {
  const days = gaugeStudy.data.rows.map(([run, wafer, , mean, sd]) => ({
    item: `${wafer}`,
    run: `${run}`,
    mean,
    repeats: { sd, degreesOfFreedom: gaugeStudy.data.dof_of_each_sd },
  }));
  const found = stability(days);
  const { run1, run2, run_to_run_sd_by_wafer_1_dof_each, pooled_run_to_run_sd_5_dof } = gaugeStudy.expected;
  for (const [i, expected] of [run1, run2].entries()) {
    expect(found.runs[i].repeatability.sd).toBeCloseTo(expected.pooled_repeatability_sd, 6);
    expect(found.runs[i].repeatability.degreesOfFreedom).toBe(expected.dof);
    expect(found.runs[i].dayToDay.sd).toBeCloseTo(expected.pooled_day_to_day_sd, 6);
    expect(found.runs[i].dayToDay.degreesOfFreedom).toBe(expected.day_dof);
    found.runs[i].byItem.forEach((item, k) =>
      expect(item.sd).toBeCloseTo(expected.day_to_day_sd_by_wafer[k], 6),
    );
  }
  found.runToRunByItem.forEach((item, k) =>
    expect(item.sd).toBeCloseTo(run_to_run_sd_by_wafer_1_dof_each[k], 6),
  );
  expect(found.runToRun?.sd).toBeCloseTo(pooled_run_to_run_sd_5_dof, 6);
  expect(found.runToRun?.degreesOfFreedom).toBe(5);
});

// NIST/SEMATECH e-Handbook 2.6.1, data file MPC61A.DAT; t values computed with numpy (see the file).
test('NIST, bias of five probes', () => {
  for (const [probe, expected] of Object.entries(bias.expected.by_probe)) {
    const rows = bias.data.rows.filter((r) => r[1] === Number(probe));
    const level = rows.map((r) => r[0]);
    const run1 = offsetOf(
      probe,
      rows.map((r) => r[2]),
      level,
      0.95,
    );
    const run2 = offsetOf(
      probe,
      rows.map((r) => r[3]),
      level,
      0.95,
    );
    expect(run1.mean).toBeCloseTo(expected.run1_mean, 6);
    expect(run1.sd).toBeCloseTo(expected.run1_sd, 6);
    expect(run1.t).toBeCloseTo(expected.run1_t, 3);
    expect(run2.mean).toBeCloseTo(expected.run2_mean, 6);
    expect(run2.sd).toBeCloseTo(expected.run2_sd, 6);
    expect(run2.t).toBeCloseTo(expected.run2_t, 3);
    expect(run1.critical.toFixed(3)).toBe('2.776');
    if (probe === '2362') expect(run1.differs && run2.differs && run1.mean < 0 && run2.mean < 0).toBe(true);
  }
});
