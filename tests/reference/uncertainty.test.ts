/** Uncertainties and risks of the guides to measurement, through the engine, the tip model and the acceptance rule. */
import { describe, expect, test } from 'vitest';
import {
  absorb,
  functional,
  judge,
  noInformation,
  normalBelow,
  normalQuantile,
  priorInformation,
  probabilityOutside,
  solve,
  solveTips,
  studentBelow,
  type Answer,
  type Layout,
  type MeasureQuestion,
  type TipReading,
  type Widths,
} from '../../protocol/solver';
import { between, evenNormals } from '../../protocol/solver/acceptance';
import { covariance } from '../../protocol/solver/engine';
import { headingVarianceAt, stationAt } from '../../protocol/solver/tip-model';
import { cholesky, whiten } from '../../protocol/solver/whiten';
import endGauge from './data/03-gum-h1-end-gauge.json';
import impedance from './data/03-gum-h2-impedance.json';
import days from './data/03-gum-h5-anova.json';
import additive from './data/03-jcgm101-additive.json';
import comparison from './data/03-jcgm101-comparison-loss.json';
import resistors from './data/03-jcgm106-resistor-risks.json';
import guardBands from './data/03-guard-bands.json';
import tables from './data/03-global-risk-tables.json';

/** A linear sum of independent inputs, as the engine has it: standard uncertainty, and what each input adds. */
function sumOf(deviations: readonly number[], sensitivities: readonly number[]) {
  const prior = solve(
    priorInformation(
      deviations.map(() => 0),
      deviations,
    ),
  );
  const of = (coefficients: readonly number[]) => deviation(functional(prior, coefficients));
  return {
    u: of(sensitivities),
    parts: sensitivities.map((s, i) => of(sensitivities.map((_, j) => (i === j ? s : 0)))),
  };
}

function known(answer: Answer) {
  if (!answer.determined) throw new Error('not determined');
  return answer;
}

const deviation = (answer: Answer) => Math.sqrt(known(answer).variance);

// JCGM 100:2008 (GUM), annex H.1.
test('GUM H.1, end gauge: contributions, combined uncertainty, and its 99 % factor', () => {
  const { inputs } = endGauge.data;
  const perDegree = -inputs.ls.x * inputs.theta.x;
  const perKelvin = -inputs.ls.x * inputs.alpha_s.x;
  const { u, parts } = sumOf(
    [inputs.ls.u, inputs.d.u, inputs.delta_alpha.u, inputs.delta_theta.u],
    [1, 1, perDegree, perKelvin],
  );
  const printed = endGauge.expected.contributions_nm;
  [printed.ls, printed.d, printed.delta_alpha, printed.delta_theta].forEach((part, i) =>
    expect(Math.abs(parts[i] - part)).toBeLessThan(0.1),
  );
  expect(Math.round(u)).toBe(endGauge.expected.u_c_nm);
  const { t99_16: t, U99_nm: expanded, dof_eff: dof } = endGauge.expected;
  expect(studentBelow(t - 0.005, dof)).toBeLessThan(0.995);
  expect(studentBelow(t + 0.005, dof)).toBeGreaterThan(0.995);
  expect(Math.abs(t * u - expanded)).toBeLessThan(0.6);
});

// JCGM 100:2008 (GUM), annex H.2: three quantities observed together five times, so whitened observations of vague unknowns.
test('GUM H.2, impedance: correlated observations, correlated results', () => {
  const { V, I_mA, phi } = impedance.data;
  const rows = [V, I_mA.map((i) => i / 1000), phi];
  const count = V.length;
  const means = rows.map((row) => row.reduce((a, b) => a + b) / count);
  const spread = rows.map((a, i) =>
    rows
      .slice(0, i + 1)
      .map((b, j) => a.reduce((sum, x, n) => sum + (x - means[i]) * (b[n] - means[j]), 0) / (count - 1)),
  );
  const lower = cholesky(spread);
  if (lower === undefined) throw new Error('no covariance');
  let state = noInformation(3);
  const units = [0, 1, 2].map((j) =>
    whiten(
      lower,
      [0, 1, 2].map((k) => (k === j ? 1 : 0)),
      0,
    ),
  );
  for (let n = 0; n < count; n++) {
    const observed = whiten(
      lower,
      rows.map((row) => row[n]),
      0,
    );
    state = absorb(state, { columns: units, observed, logScale: 0 });
  }
  const estimate = solve(state);
  const unit = (j: number) =>
    known(
      functional(
        estimate,
        [0, 1, 2].map((k) => (k === j ? 1 : 0)),
      ),
    );
  const [v, i, angle] = [0, 1, 2].map((j) => unit(j).value);
  const { expected } = impedance;
  [expected.u_means.V, expected.u_means.I_mA / 1000, expected.u_means.phi].forEach((u, j) =>
    expect(Math.sqrt(unit(j).variance) / u).toBeCloseTo(1, 1),
  );
  const z = v / i;
  const outputs = [
    [Math.cos(angle) / i, (-z * Math.cos(angle)) / i, -z * Math.sin(angle)],
    [Math.sin(angle) / i, (-z * Math.sin(angle)) / i, z * Math.cos(angle)],
    [1 / i, -z / i, 0],
  ].map((slopes) => known(functional(estimate, slopes)));
  const { full_digits: full } = impedance.crosscheck;
  outputs.forEach((o, j) => expect(Math.sqrt(o.variance) / full.u[j]).toBeCloseTo(1, 9));
  const r = (a: number, b: number) =>
    covariance(outputs[a].root, outputs[b].root) / Math.sqrt(outputs[a].variance * outputs[b].variance);
  expect(r(0, 1)).toBeCloseTo(expected.r_out['R,X'], 3);
  expect(r(0, 2)).toBeCloseTo(expected.r_out['R,Z'], 3);
  expect(r(1, 2)).toBeCloseTo(expected.r_out['X,Z'], 3);
});

const FLAT: Layout = {
  spindles: [{ xMm: 0, yMm: 0, tipRadiusMm: 200 }],
  wheels: [
    { xMm: 0, yMm: 400 },
    { xMm: 0, yMm: -400 },
    { xMm: 900, yMm: 0 },
  ],
  groundPlane: 'three wheels',
};
const NOTHING: Widths = {
  placementMm: 0,
  textureMm: 0,
  floorMm: 0,
  floorLengthMm: 1000,
  offsetMm: 0,
  gain: 0,
  heightReferenceMm: 0,
  spindleHeightMm: 0,
  spindleTiltRad: 0,
  bendMm: 0,
  shaftMm: 0,
  seatingHeightMm: 0,
  seatingSlopeRad: 0,
  headingDeg: 0,
};

// JCGM 100:2008 (GUM), annex H.5: days are clampings, the readings of a day are captures without a move in between.
test('GUM H.5, days and readings within days: the mean is as sure as its days agree, however often they are read', () => {
  const { sd_of_day_means_uV: ofMeans, pooled_within_sd_uV: within } = days.crosscheck;
  const { day_means_V: means, n_per_day: perDay } = days.data;
  const between = Math.sqrt(ofMeans ** 2 - within ** 2 / perDay);
  const readings = means.flatMap((volts, day) =>
    Array.from({ length: perDay }, (): TipReading => {
      const heightMm = (volts - 10) * 1e6;
      const where = { spindle: 0, headingDeg: 0, end: 1 as const, refitted: false, seating: 1 };
      return { ...where, placement: day, heightMm, standardErrorMm: within };
    }),
  );
  const question: MeasureQuestion = {
    what: 'tips',
    name: 'mean',
    terms: [{ spindle: 0, headingDeg: 0, weight: 1 }],
    targetMm: 0,
    lowerMm: -Infinity,
    upperMm: Infinity,
  };
  const [mean] = solveTips(FLAT, readings, { ...NOTHING, placementMm: between }, [question]).measures;
  if (mean?.determined !== true) throw new Error('not determined');
  expect(10 + mean.valueMm / 1e6).toBeCloseTo(days.expected.mean_V, 6);
  expect(mean.standardUncertaintyMm / (ofMeans / Math.sqrt(means.length))).toBeCloseTo(1, 5);
});

// JCGM 101:2008, 9.2: with rectangular inputs the interval is 1 % shorter than the engine's, never longer.
test('JCGM 101, additive model: u and the 95 % interval', () => {
  const { normal_inputs: normal, rectangular_inputs: rectangular } = additive.expected;
  const { u } = sumOf([1, 1, 1, 1], [1, 1, 1, 1]);
  expect(u).toBeCloseTo(normal.u, 12);
  const half = u * normalQuantile(0.975);
  expect(half).toBeCloseTo(normal.interval_95[1], 2);
  expect(half).toBeGreaterThan(rectangular.half_width_analytic);
});

// JCGM 101:2008, 9.4, x1 = 0: the sum of two squares has mean and deviation 2 u^2, so one square has the mean square 3 u^4.
// A blade that points along the slope meets the same trouble: the first order of its heading error is nothing.
test('JCGM 101, comparison loss: the second order of the heading error counts where the first is nothing', () => {
  const { mc_y: mean, mc_u: sd } = comparison.expected['x1=0'];
  const meanSquare = (mean / 2) ** 2 + sd ** 2 / 2;
  const u = 0.005;
  const widths = { ...NOTHING, headingDeg: (u * 180) / Math.PI };
  // Radius times slope over two is one: the error of the height is the heading error squared.
  const slopes = { x: [2 / 200], y: [0], varianceX: [0], varianceY: [0] };
  const station = stationAt(FLAT, 0, 0);
  expect(headingVarianceAt({ layout: FLAT, widths }, station, slopes) / meanSquare).toBeCloseTo(1, 9);
});

describe('specific risk and guard bands (ILAC G8; JCGM 106:2012, 8.3)', () => {
  const { data, expected } = guardBands;
  test.each(data.specific.map((c, i) => [c, expected.specific_risk[i]] as const))('%o', (c, risk) => {
    expect(probabilityOutside(c.mean, c.u, { lowerMm: c.lower, upperMm: c.upper })).toBeCloseTo(risk, 5);
  });

  test.each(data.risk.map((risk, i) => [risk, expected.r[i]] as const))(
    'a risk of %d needs a guard band of %d U',
    (risk, r) => {
      const at = -r * 2;
      expect(probabilityOutside(at, 1, { lowerMm: -Infinity, upperMm: 0 })).toBeCloseTo(risk, 4);
    },
  );

  test('a result is accepted from the guard band of its 2 % on: r = z(0.98) / 2, of U', () => {
    const question = {
      what: 'bend',
      name: 'one',
      spindle: 0,
      targetMm: 0,
      lowerMm: -100,
      upperMm: 0,
    } as const;
    const decide = (valueMm: number) =>
      judge({ measures: [{ name: 'one', determined: true, valueMm, standardUncertaintyMm: 1 }] }, [question])
        .decision;
    // 2.0537 is the 98 % point of the normal distribution in its tables: r = 1.027.
    expect(decide(-2.0538)).toBe('pass');
    expect(decide(-2.0537)).toBe('undecided');
    expect(1 - normalBelow(2.0537489)).toBeCloseTo(0.02, 8);
  });
});

/** Shares of items falsely accepted, falsely rejected and accepted: true values on the solver's even points. */
function globalRisk(processSd: number, u: number, limit: number, accepted: number) {
  const points = evenNormals(1, 20000);
  let [falseAccept, falseReject, accept] = [0, 0, 0];
  for (const [normal] of points) {
    const value = processSd * (normal ?? 0);
    const chance = between(-accepted - value, accepted - value, u);
    accept += chance / points.length;
    if (Math.abs(value) > limit) falseAccept += chance / points.length;
    else falseReject += (1 - chance) / points.length;
  }
  return { falseAccept, falseReject, accept };
}

describe('global risks: how often an estimate falls inside limits, over true values as they come', () => {
  // D. Deaver, Guardbanding with confidence (NCSL 1994), printed to three decimals.
  test.each(tables.data.deaver.map((row, i) => [row, tables.expected.deaver[i]] as const))(
    'Deaver, %o',
    ({ SL_sigma, TUR, guard_band }, { PFA, PFR }) => {
      const risk = globalRisk(1 / SL_sigma, 1 / (2 * TUR), 1, guard_band);
      expect(Math.abs(risk.falseAccept - PFA)).toBeLessThan(0.0006);
      expect(Math.abs(risk.falseReject - PFR)).toBeLessThan(0.0006);
    },
  );

  // NCSL RP-19 table, as quoted (see the file).
  test.each(tables.data.rp19.in_tolerance_probability.map((p, i) => [p, i] as const))(
    'RP-19, %d in tolerance',
    (p, i) => {
      const processSd = 1 / normalQuantile((1 + p) / 2);
      const u = processSd / tables.data.rp19.ratio_process_sd_to_test_sd;
      const { falseAccept, accept } = globalRisk(processSd, u, 1, 1);
      expect(Math.abs(100 * falseAccept - tables.expected.rp19_PFA_percent[i])).toBeLessThan(0.01);
      const conditional = tables.expected.rp19_conditional_PFA_percent[i];
      expect(Math.abs((100 * falseAccept) / accept - conditional)).toBeLessThan(0.01);
    },
  );

  // JCGM 106:2012, 9.5: inputs seen, risks computed (see the file), published rounded 1 % and 7 % from memory.
  test('JCGM 106, resistors', () => {
    const { prior, u_m: u } = resistors.data;
    const { R_C, R_P, with_acceptance_equal_to_tolerance: without } = resistors.expected;
    const guarded = globalRisk(prior.u0, u, 0.2, 0.18);
    expect(Math.abs(guarded.falseAccept - R_C)).toBeLessThan(1e-4);
    expect(Math.abs(guarded.falseReject - R_P)).toBeLessThan(1e-4);
    const simple = globalRisk(prior.u0, u, 0.2, 0.2);
    expect(Math.abs(simple.falseAccept - without.R_C)).toBeLessThan(1e-4);
    expect(Math.abs(simple.falseReject - without.R_P)).toBeLessThan(1e-4);
  });
});
