/**
 * The error budget against what can be worked out without it: propagation of single errors through the solver, geometry,
 * statics, and the closed form of the decision rule.
 */
import { describe, expect, test } from 'vitest';
import { budgetsOf } from '../../../host/cli/budget';
import { acceptsCentred, errorBudget, loadShare, readingsOnTarget } from '../../../host/gauging/error-budget';
import { bladeSagMm, dividerDrift, sampleNoiseMm, SENSOR_CLASSES } from '../../../host/gauging/error-sources';
import type { ErrorSource } from '../../../host/gauging/error-sources';
import { widthValues } from '../../../host/gauging/widths';
import { loadProfile } from '../../../host/machines/load';
import { layoutOf, measureQuestions } from '../../../host/procedure/assess';
import { solveTips, type MeasureQuestion, type TipReading } from '../../../protocol/solver';

const profile = loadProfile('orrinshaw-106');
const layout = layoutOf(profile);
const questions = measureQuestions(profile);
const tips = [0, 1].flatMap((spindle) =>
  ([1, -1] as const).flatMap((end) =>
    [0, 90, 180].map((heading) => ({
      spindle,
      headingDeg: spindle === 1 && heading === 90 ? -90 : heading,
      end,
    })),
  ),
);
const readings = readingsOnTarget(layout, questions, tips);
const at = { layout, questions, readings, heightReferenceMm: 60 };

/** Sources that are just the widths the tool assumes, so that `solveTips` can be asked the same by hand. */
const assumed = widthValues(60);
const sources: ErrorSource[] = (
  [
    ['placementMm', assumed.placementMm],
    ['textureMm', assumed.textureMm],
    ['floorMm', assumed.floorMm],
    ['offsetMm', assumed.offsetMm],
    ['gain', assumed.gain],
    ['headingDeg', assumed.headingDeg],
    ['headingHabitDeg', assumed.headingHabitDeg ?? 0],
    ['seatingHeightMm', assumed.seatingHeightMm],
    ['seatingSlopeRad', assumed.seatingSlopeRad],
    ['spindleHeightMm', assumed.spindleHeightMm],
    ['spindleTiltRad', assumed.spindleTiltRad],
    ['bendMm', assumed.bendMm],
    ['shaftMm', assumed.shaftMm],
    ['noise', 0.02],
  ] as const
).map(([entersAs, value]) => ({ name: entersAs, entersAs, value, reason: 'test' }));
const budget = errorBudget(at, sources);
const contribution = (name: string, measure: number) =>
  budget.contributions.find((c) => c.name === name)?.perMeasureMm[measure] ?? NaN;

/** Change of every measure when each reading is off by what `offMm` says. */
function moved(offMm: (reading: TipReading, i: number) => number): number[] {
  const solve = (list: readonly TipReading[]) =>
    solveTips(layout, list, assumed, questions).measures.map((m) => (m.determined ? m.valueMm : NaN));
  const noisy = readings.map((r) => ({ ...r, standardErrorMm: 0.02 }));
  const still = solve(noisy);
  const off = solve(noisy.map((r, i) => ({ ...r, heightMm: r.heightMm + offMm(r, i) })));
  return off.map((value, i) => value - (still[i] ?? NaN));
}

/** Root of the sum of squares of what single errors of one size do, each by itself. */
function together(effects: readonly (readonly number[])[]): number[] {
  return questions.map((_, i) => Math.sqrt(effects.reduce((sum, e) => sum + (e[i] ?? NaN) ** 2, 0)));
}

describe('a contribution is what single errors of that kind do to the solution (law of propagation, GUM 5.1.2)', () => {
  test('one error for each clamping', () => {
    const clampings = [...new Set(readings.map((r) => r.placement))];
    expect(clampings).toHaveLength(4);
    const expected = together(
      clampings.map((c) => moved((r) => (r.placement === c ? assumed.placementMm : 0))),
    );
    questions.forEach((_, i) => expect(contribution('placementMm', i)).toBeCloseTo(expected[i] ?? NaN, 3));
  });

  test('one error for each capture', () => {
    const expected = together(readings.map((_, k) => moved((_r, i) => (i === k ? 0.02 : 0))));
    questions.forEach((_, i) => expect(contribution('noise', i)).toBeCloseTo(expected[i] ?? NaN, 3));
  });

  test('one error for all of them: in full in the cut height, not at all in level, rake and bend', () => {
    const sizes = questions.map((_, i) => contribution('offsetMm', i));
    [0, 0, assumed.offsetMm, 0, 0].forEach((mm, i) => expect(sizes[i]).toBeCloseTo(mm, 4));
  });

  test('a slope of the seating: the span times the slope, by geometry', () => {
    // Level of this deck reaches over its profile's span of 1055 mm, rake over 540 mm.
    expect(contribution('seatingSlopeRad', 0)).toBeCloseTo(1055 * assumed.seatingSlopeRad, 3);
    expect(contribution('seatingSlopeRad', 1)).toBeCloseTo(540 * assumed.seatingSlopeRad, 3);
  });

  test('the squares add up to the variance', () => {
    expect(budget.unexplained).toBeLessThan(0.01);
    questions.forEach((_, i) => {
      const sum = budget.contributions.reduce((s, c) => s + (c.perMeasureMm[i] ?? NaN) ** 2, 0);
      expect(sum).toBeCloseTo((budget.measures[i]?.standardUncertaintyMm ?? NaN) ** 2, 2);
    });
  });
});

describe('what can be decided', () => {
  const one = (limitMm: number): MeasureQuestion => ({
    what: 'bend',
    name: 'b',
    spindle: 0,
    targetMm: 0,
    lowerMm: -limitMm,
    upperMm: limitMm,
  });

  test('one measure, from the table of the normal distribution', () => {
    // Accepted while the estimate is 2.0537 u inside (2 % tail): with u = 1 and limits of 3.0537, within +/- 1: 68.27 %;
    // within +/- 1.6449: 90 % (tables of the normal distribution).
    expect(acceptsCentred([one(3.0537)], [1])).toBeCloseTo(0.6827, 3);
    expect(acceptsCentred([one(3.6986)], [1])).toBeCloseTo(0.9, 3);
    expect(acceptsCentred([one(2)], [1])).toBe(0);
  });

  test('the tightest limits are decided with just nine tenths', () => {
    const u = budget.measures[0]?.standardUncertaintyMm ?? NaN;
    const tightest = budget.measures[0]?.tightestMm ?? NaN;
    expect(tightest / u).toBeCloseTo(1.6449 + 2.0537, 3);
    expect(acceptsCentred([one(tightest)], [u * u])).toBeCloseTo(0.9, 3);
  });

  test('of two measures one of which cannot go wrong, the other decides; two equal ones are one', () => {
    expect(acceptsCentred([one(3.0537), one(1)], [1, 0, 0, 1e-6])).toBeCloseTo(0.6827, 2);
    // Fully correlated: each may use up 1 % (2.3263 u inside), so +/- 1 is left of 3.3263.
    expect(acceptsCentred([one(3.3263), one(3.3263)], [1, 1, 1, 1])).toBeCloseTo(0.6827, 2);
  });

  test('test uncertainty ratio: span of the limits over twice U (ANSI/NCSL Z540.3)', () => {
    for (const [i, m] of budget.measures.entries()) {
      const { lowerMm, upperMm } = questions[i] ?? one(NaN);
      expect(m.testUncertaintyRatio).toBeCloseTo((upperMm - lowerMm) / (4 * m.standardUncertaintyMm), 9);
    }
  });

  test('five spindles are not decided from one seating in an unsurveyed bay, two spindles are', () => {
    // Known from an independent implementation (design, solver section 15).
    const decided = Object.fromEntries(
      [profile, loadProfile('thrushmoor-248')].map((p) => [
        p.spindles.length,
        budgetsOf(p).find((b) => b.bay === 'unsurveyed' && b.sensor.name === 'compact')?.budget
          .acceptsCentred ?? NaN,
      ]),
    );
    expect(decided[5]).toBeLessThan(0.9);
    expect(decided[2]).toBeGreaterThan(0.9);
  });
});

describe('the sources', () => {
  test('blade sag: F L^3 / 3 E I worked by hand', () => {
    // I = 60 * 125 / 12 = 625 mm^4; 3.4335 N on 245 mm: 3.4335 * 14 706 125 / (3 * 205 000 * 625) = 0.1314 mm.
    expect(bladeSagMm(245)).toBeCloseTo(0.1314, 4);
    expect(bladeSagMm(490) / bladeSagMm(245)).toBeCloseTo(8, 9);
  });

  test('divider 10 k over 15 k, 25 ppm a degree each: 0.4 * sqrt 2 * 14.43 ppm = 8.16 ppm a degree', () => {
    expect(dividerDrift(10)).toBeCloseTo(81.6e-6, 7);
  });

  test('a load on four equal springs: a quarter in the middle, more outside (statics)', () => {
    const square = [
      { xMm: 0, yMm: 0 },
      { xMm: 400, yMm: 0 },
      { xMm: 400, yMm: 400 },
      { xMm: 0, yMm: 400 },
    ];
    const spindles = [{ xMm: 200, yMm: 100, tipRadiusMm: 100 }];
    const deck = { ...layout, spindles };
    expect(loadShare(deck, square, { spindle: 0, headingDeg: 90 })).toBeCloseTo(0.25, 9);
    // Half-way along an edge: two springs carry half each, the far two nothing: 0.5.
    const edge = { ...layout, spindles: [{ xMm: 200, yMm: 100, tipRadiusMm: 200 }] };
    expect(loadShare(edge, square, { spindle: 0, headingDeg: 0 })).toBeCloseTo(
      0.25 + 0.25 + (100 / 400) ** 2,
      9,
    );
  });

  test('converter and sensor noise together', () => {
    const compact = SENSOR_CLASSES.find((c) => c.name === 'compact');
    if (compact === undefined) throw new Error('no compact class');
    // 0.8 counts of 125 uV are 0.1 mV; 70 mm over 2.4 V: 2.92 um.
    expect(sampleNoiseMm(compact)).toBeCloseTo(Math.sqrt(0.07 ** 2 + 0.00292 ** 2), 6);
  });

  test('readings on target: the measures that the solver finds in them are the targets', () => {
    const found = solveTips(
      layout,
      readings.map((r) => ({ ...r, standardErrorMm: 0.01 })),
      { ...assumed, gain: 0 },
      questions,
    );
    found.measures.forEach((m, i) =>
      expect(m.determined ? m.valueMm : NaN).toBeCloseTo(questions[i]?.targetMm ?? NaN, 6),
    );
  });
});
