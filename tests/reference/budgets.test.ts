/** Uncertainty budgets and calibration lines against the examples of the GUM (JCGM 100:2008), all through the same code. */
import { expect, test } from 'vitest';
import { degreesOfReliability, fromHalfWidth, uncertaintyBudget } from '../../host/gauging/statistics/budget';
import { leastSquares } from '../../host/gauging/statistics/fit';
import { oneWay } from '../../host/gauging/statistics/one-way';
import endGauge from './data/03-gum-h1-end-gauge.json';
import days from './data/03-gum-h5-anova.json';
import sirstv from './data/02-strd-anova-sirstv.json';
import thermometer from './data/03-gum-h3-thermometer.json';
import welch from './data/03-welch-satterthwaite.json';
import { meanOf, standardDeviation } from '../../host/gauging/statistics/spread';

// GUM H.1. Half widths and reliabilities as the example states them (H.1.3; from memory, their results are in the file).
test('H.1, end gauge', () => {
  const { inputs } = endGauge.data;
  const theta = Math.sqrt(0.2 ** 2 + fromHalfWidth(0.5, 'arcsine') ** 2);
  expect(theta.toFixed(2)).toBe('0.41');
  expect(fromHalfWidth(2e-6, 'rectangular').toExponential(1)).toBe('1.2e-6');
  expect(degreesOfReliability(0.1)).toBeCloseTo(50, 10);
  expect(degreesOfReliability(0.5)).toBeCloseTo(2, 10);
  const difference = uncertaintyBudget(
    inputs.d.made_of.map((m, i) => ({
      name: `d, part ${i + 1}`,
      type: 'A' as const,
      standardUncertainty: m.u,
      degreesOfFreedom: m.dof,
    })),
  );
  expect(difference.combined.toFixed(1)).toBe('9.7');
  // The example divides the fourth power of the rounded 9.7.
  const fourths = difference.combined ** 4 / difference.effectiveDegreesOfFreedom;
  expect((9.7 ** 4 / fourths).toFixed(1)).toBe('25.6');

  const ls = inputs.ls.x;
  const first = [
    { name: 'standard', type: 'B', standardUncertainty: inputs.ls.u, degreesOfFreedom: inputs.ls.dof },
    { name: 'difference', type: 'A', standardUncertainty: inputs.d.u, degreesOfFreedom: inputs.d.dof },
    {
      name: 'difference of expansion',
      type: 'B',
      standardUncertainty: fromHalfWidth(1e-6, 'rectangular'),
      sensitivity: -ls * inputs.theta.x,
      degreesOfFreedom: degreesOfReliability(0.1),
    },
    {
      name: 'difference of temperature',
      type: 'B',
      standardUncertainty: fromHalfWidth(0.05, 'rectangular'),
      sensitivity: -ls * inputs.alpha_s.x,
      degreesOfFreedom: degreesOfReliability(0.5),
    },
  ] as const;
  const budget = uncertaintyBudget(first, 0.99);
  const contributions = endGauge.expected.contributions_nm;
  expect(budget.rows.map((r) => r.contribution.toFixed(1))).toEqual([
    contributions.ls.toFixed(1),
    contributions.d.toFixed(1),
    contributions.delta_alpha.toFixed(1),
    contributions.delta_theta.toFixed(1),
  ]);
  expect(budget.combined.toFixed(0)).toBe('32');
  expect(Math.floor(budget.effectiveDegreesOfFreedom)).toBe(16);
  expect(budget.coverageFactor.toFixed(2)).toBe('2.92');
  // The example rounds u to 32 before it multiplies: 93 (unrounded 92.6).
  expect((Number(budget.coverageFactor.toFixed(2)) * Math.round(budget.combined)).toFixed(0)).toBe('93');
  expect(budget.expanded).toBeCloseTo(92.6, 0);

  // H.1.7: the two second-order terms that do not vanish.
  const second = uncertaintyBudget([
    ...first,
    { name: 'expansion x temperature', type: 'B', standardUncertainty: ls * 0.58e-6 * theta },
    { name: 'temperature x expansion', type: 'B', standardUncertainty: ls * 1.2e-6 * 0.029 },
  ]);
  expect(second.combined.toFixed(0)).toBe(`${endGauge.expected.u_c_with_second_order_terms_nm}`);
});

// GUM G.4.1.
test.each(welch.data.cases.map((c, i) => [i, c] as const))(
  'Welch and Satterthwaite, case %d',
  (i, { u, dof }) => {
    const budget = uncertaintyBudget(
      u.map((standardUncertainty, k) => ({
        name: `${k}`,
        type: 'A' as const,
        standardUncertainty,
        degreesOfFreedom: dof[k],
      })),
    );
    expect(budget.combined).toBeCloseTo(welch.expected.u_c[i], 4);
    expect(budget.effectiveDegreesOfFreedom).toBeCloseTo(welch.expected.dof_eff[i], 4);
  },
);

// GUM H.3: b = y1 + y2 (t - 20).
test('H.3, thermometer', () => {
  const { t, b, t0 } = thermometer.data;
  const fit = leastSquares(
    t.map((ti) => [1, ti - t0]),
    b,
  );
  expect(fit?.coefficients[0].toFixed(4)).toBe('-0.1712');
  expect(fit?.standardUncertainties[0].toFixed(4)).toBe('0.0029');
  expect(fit?.coefficients[1].toFixed(5)).toBe('0.00218');
  expect(fit?.standardUncertainties[1].toFixed(5)).toBe('0.00067');
  expect(fit?.correlation[0][1].toFixed(2)).toBe('-0.93');
  expect(fit?.s.toFixed(4)).toBe('0.0035');
  expect(fit?.degreesOfFreedom).toBe(9);
  const at30 = fit?.at([1, 10]);
  expect(at30?.value.toFixed(4)).toBe('-0.1494');
  expect(at30?.standardUncertainty.toFixed(4)).toBe('0.0041');
});

// GUM H.5: ten days of five readings.
test('H.5, analysis of variance over days', () => {
  const groups = days.data.day_means_V.map((mean, i) => ({ mean, sd: days.data.within_day_sd_uV[i] * 1e-6 }));
  const found = oneWay(groups, days.data.n_per_day);
  expect(found.mean.toFixed(6)).toBe('10.000097');
  expect((found.sdOfMeans * 1e6).toFixed(0)).toBe('57');
  expect((found.pooledWithin.sd * 1e6).toFixed(0)).toBe('85');
  // The example divides squares of rounded standard deviations: 2.25 = 5 x 57^2 / 85^2.
  expect((days.data.n_per_day * (57 / 85) ** 2).toFixed(2)).toBe(days.expected.F.toFixed(2));
  expect(found.F).toBeCloseTo(days.expected.F, 1);
  expect(found.between.degreesOfFreedom).toBe(9);
  expect(found.within.degreesOfFreedom).toBe(40);
});

// NIST StRD, analysis of variance, SiRstv: certified values.
test('StRD SiRstv', () => {
  const groups = sirstv.data.instruments.map((values) => ({
    mean: meanOf(values),
    sd: standardDeviation(values),
  }));
  const found = oneWay(groups, sirstv.data.instruments[0].length);
  expect(found.between.meanSquare * found.between.degreesOfFreedom).toBeCloseTo(
    sirstv.expected.between.ss,
    10,
  );
  expect(found.F).toBeCloseTo(sirstv.expected.F, 7);
  expect(found.betweenVariance).toBeCloseTo(
    sirstv.crosscheck.derived_not_certified.between_instrument_variance_component,
    9,
  );
});
