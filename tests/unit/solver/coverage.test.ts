/** Whether the stated uncertainties are true: jobs drawn from the physical story, solved, and compared with their truth. */
import { expect, test } from 'vitest';
import { solveTips, type Layout, type MeasureQuestion, type Widths } from '../../../protocol/solver';
import { seededRandom } from '../../../host/simulation/random';
import { layout as three, questions, widths } from '../../bench/example';
import { drawJob, type Ask, type Truth } from './shop-of-numbers';

const JOBS = 5000;

/** Standardised errors of one quantity over many jobs. */
interface Tally {
  jobs: number;
  inside: number;
  sum: number;
  squares: number;
}

function count(tallies: Map<string, Tally>, name: string, error: number): void {
  const tally = tallies.get(name) ?? { jobs: 0, inside: 0, sum: 0, squares: 0 };
  tally.jobs += 1;
  tally.inside += Math.abs(error) <= 2 ? 1 : 0;
  tally.sum += error;
  tally.squares += error * error;
  tallies.set(name, tally);
}

function expectHonest(tallies: Map<string, Tally>, names: number): void {
  expect(tallies.size).toBe(names);
  for (const [name, { jobs, inside, sum, squares }] of tallies) {
    // A normal result is inside U (k = 2) in 95.45 % of jobs; four standard errors of 5,000 jobs are 1.2 %.
    const coverage = inside / jobs;
    const bias = sum / jobs;
    const spread = Math.sqrt(squares / jobs);
    console.log(
      `${name.padEnd(24)} ${(100 * coverage).toFixed(2)} % inside U, bias ${bias.toFixed(3)} u, spread ${spread.toFixed(3)}`,
    );
    expect(Math.abs(coverage - 0.9545), name).toBeLessThan(0.012);
    expect(Math.abs(bias), name).toBeLessThan(0.06);
    expect(Math.abs(spread - 1), name).toBeLessThan(0.04);
  }
}

function trueValue(question: MeasureQuestion, truth: Truth, refitted: boolean): number {
  if (question.what === 'bend') return truth.bendMm(question.spindle, refitted);
  return question.terms.reduce((sum, t) => sum + t.weight * truth.tipMm(t.spindle, t.headingDeg), 0);
}

function runJobs(
  seed: number,
  layout: Layout,
  wide: Widths,
  asks: readonly Ask[],
  asked: readonly MeasureQuestion[],
) {
  const random = seededRandom(seed);
  const tallies = new Map<string, Tally>();
  const refitted = asks[asks.length - 1].refitted ?? false;
  let chiSquare = 0;
  let degreesOfFreedom = 0;
  for (let job = 0; job < JOBS; job++) {
    const { truth, readings } = drawJob(random, layout, wide, asks, 0.03);
    const solution = solveTips(layout, readings, wide, asked);
    for (const [i, measure] of solution.measures.entries()) {
      if (!measure.determined) continue;
      const error = measure.valueMm - trueValue(asked[i], truth, refitted);
      count(tallies, measure.name, error / measure.standardUncertaintyMm);
    }
    const tip = solution.tips[1];
    const tipError = tip.heightMm - truth.tipMm(tip.spindle, tip.headingDeg);
    count(tallies, 'second tip', tipError / tip.standardUncertaintyMm);
    if (solution.pose !== 'not determined') {
      const { slopeX, slopeY, covariance } = solution.pose;
      count(tallies, 'slope forward', (slopeX - truth.slopeX) / Math.sqrt(covariance[4]));
      count(tallies, 'slope sideways', (slopeY - truth.slopeY) / Math.sqrt(covariance[8]));
    }
    for (const residual of solution.residuals.slice(0, 1)) {
      if (residual.determined) count(tallies, 'first residual', residual.standardised);
    }
    chiSquare += solution.chiSquare;
    degreesOfFreedom += solution.degreesOfFreedom;
  }
  // Four standard errors of the mean, and one hundredth for what is linearised.
  const allowed = 4 * Math.sqrt(2 / degreesOfFreedom) + 0.01;
  expect(Math.abs(chiSquare / degreesOfFreedom - 1)).toBeLessThan(allowed);
  return tallies;
}

/** Both ends at four headings of every spindle, one clamping each end, a second seating half way. */
function fullRound(spindles: number): Ask[] {
  const asks: Ask[] = [];
  for (let spindle = 0; spindle < spindles; spindle++) {
    for (const end of [1, -1] as const) {
      for (const headingDeg of [0, 90, 180, -90]) {
        const seating = spindle * 2 < spindles ? 1 : 2;
        asks.push({ spindle, headingDeg, end, seating, placement: 2 * spindle + (end > 0 ? 1 : 2) });
      }
    }
  }
  return asks;
}

test('three spindles, full round', () => {
  expectHonest(runJobs(10, three, widths, fullRound(3), questions), 6 + 1 + 2 + 1);
});

test('three spindles, only the marked ends that level and rake need', () => {
  const asks = [
    { spindle: 0, headingDeg: 90 },
    { spindle: 0, headingDeg: 180 },
    { spindle: 1, headingDeg: 0 },
    { spindle: 2, headingDeg: 180 },
    { spindle: 2, headingDeg: -90 },
  ].map((place) => ({ ...place, end: 1 as const, seating: 1, placement: 1 + place.spindle }));
  // No bend is answered, so three names fewer.
  expectHonest(runJobs(11, three, widths, asks, questions), 3 + 1 + 2 + 1);
});

test('one spindle on three wheels, blade refitted half way', () => {
  const one: Layout = {
    spindles: [{ xMm: 500, yMm: 20, tipRadiusMm: 260 }],
    wheels: [
      { xMm: 0, yMm: 300 },
      { xMm: 0, yMm: -300 },
      { xMm: 900, yMm: 0 },
    ],
    groundPlane: 'three wheels',
  };
  const first = fullRound(1);
  const asks = [...first, ...first.map((ask) => ({ ...ask, refitted: true, placement: ask.placement + 2 }))];
  const limits = { targetMm: 0, lowerMm: -4, upperMm: 4 };
  const asked: MeasureQuestion[] = [
    {
      what: 'tips',
      name: 'level',
      terms: [
        { spindle: 0, headingDeg: 90, weight: 1 },
        { spindle: 0, headingDeg: -90, weight: -1 },
      ],
      ...limits,
    },
    { what: 'bend', name: 'bend', spindle: 0, ...limits },
  ];
  expectHonest(runJobs(12, one, widths, asks, asked), 2 + 1 + 2 + 1);
});
