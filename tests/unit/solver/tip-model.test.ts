/** What must cancel, what must stay, and what must not be answered. */
import { describe, expect, test } from 'vitest';
import {
  solveTips,
  type Layout,
  type MeasureQuestion,
  type Solution,
  type TipReading,
  type Widths,
} from '../../../protocol/solver';
import { layout as three, questions, readingsRound, widths } from '../../bench/example';
import { seededRandom } from '../../../host/simulation/random';
import { drawJob, type Ask } from './shop-of-numbers';

const nothing: Widths = {
  placementMm: 0,
  textureMm: 0,
  floorMm: 0,
  floorLengthMm: 1000,
  offsetMm: 0,
  gain: 0,
  heightReferenceMm: 60,
  spindleHeightMm: 0,
  spindleTiltRad: 0,
  bendMm: 0,
  shaftMm: 0,
  seatingHeightMm: 0,
  seatingSlopeRad: 0,
  headingDeg: 0,
};
const limits = { targetMm: 0, lowerMm: -4, upperMm: 4 };

function measure(solution: Solution, name: string): { valueMm: number; uMm: number } {
  const found = solution.measures.find((m) => m.name === name);
  if (found === undefined || !found.determined) throw new Error(`${name} is not determined`);
  return { valueMm: found.valueMm, uMm: found.standardUncertaintyMm };
}

function at(spindle: number, headingDeg: number, heightMm = 75): TipReading {
  const placement = 100 * spindle + Math.round(headingDeg);
  return {
    spindle,
    headingDeg,
    end: 1,
    refitted: false,
    seating: 1,
    placement,
    heightMm,
    standardErrorMm: 0.02,
  };
}

function lineOf(count: number, stepXMm: number): Layout {
  const middle = (count - 1) / 2;
  const spindles = Array.from({ length: count }, (_, k) => ({
    xMm: 600 + stepXMm * (k % 2),
    yMm: (middle - k) * 400,
    tipRadiusMm: 220,
  }));
  return { ...three, spindles };
}

function levelOf(layout: Layout): MeasureQuestion {
  const last = layout.spindles.length - 1;
  return {
    what: 'tips',
    name: 'level',
    terms: [
      { spindle: 0, headingDeg: 90, weight: 1 },
      { spindle: last, headingDeg: -90, weight: -1 },
    ],
    ...limits,
  };
}

describe('pose and signs', () => {
  const plane = (x: number, y: number) => 80 - 0.01 * x + 0.005 * y;
  const readings = [0, 90, 180, -90].flatMap((headingDeg) =>
    three.spindles.map(({ xMm, yMm, tipRadiusMm }, k) => {
      const angle = (headingDeg * Math.PI) / 180;
      return at(
        k,
        headingDeg,
        plane(xMm + tipRadiusMm * Math.cos(angle), yMm + tipRadiusMm * Math.sin(angle)),
      );
    }),
  );
  const solution = solveTips(three, readings, widths, questions);

  test('a flat deck on a flat floor comes out as it is', () => {
    if (solution.pose === 'not determined') throw new Error('no pose');
    expect(solution.pose.z0Mm).toBeCloseTo(80, 1);
    expect(solution.pose.slopeX).toBeCloseTo(-0.01, 4);
    expect(solution.pose.slopeY).toBeCloseTo(0.005, 4);
    expect(solution.chiSquare).toBeLessThan(0.1);
  });

  test('level is left less right, rake is rear less front', () => {
    expect(measure(solution, 'level').valueMm).toBeCloseTo(0.005 * (860 + 460), 1);
    expect(measure(solution, 'rake').valueMm).toBeCloseTo(plane(290, 0) - plane(990, 0), 1);
    expect(measure(solution, 'cut height').valueMm).toBeCloseTo(plane(990, 0), 1);
  });

  test('end A above end B is a positive bend', () => {
    const bent = readings.flatMap((r) =>
      r.spindle === 1
        ? [
            { ...r, heightMm: r.heightMm + 0.8 },
            { ...r, end: -1 as const, placement: r.placement + 1000, heightMm: r.heightMm - 0.8 },
          ]
        : [r],
    );
    const { valueMm, uMm } = measure(solveTips(three, bent, widths, questions), 'middle bend');
    // The prior draws a little toward 0, much less than u.
    expect(Math.abs(valueMm - 1.6)).toBeLessThan(0.1);
    expect(uMm).toBeLessThan(0.3);
  });
});

test('the offset cancels in level and rake and stays in the cut height', () => {
  const readings = readingsRound(1);
  const narrow = solveTips(three, readings, { ...widths, offsetMm: 0.1 }, questions);
  const wide = solveTips(three, readings, { ...widths, offsetMm: 10 }, questions);
  for (const name of ['level', 'rake', 'left bend']) {
    expect(measure(wide, name).uMm).toBeCloseTo(measure(narrow, name).uMm, 5);
    expect(measure(wide, name).valueMm).toBeCloseTo(measure(narrow, name).valueMm, 4);
  }
  expect(measure(wide, 'cut height').uMm).toBeGreaterThan(9.9);
  const other = Math.sqrt(measure(narrow, 'cut height').uMm ** 2 - 0.1 ** 2);
  expect(measure(wide, 'cut height').uMm).toBeCloseTo(Math.sqrt(other ** 2 + 100), 2);
});

test('50 captures without re-clamping leave the uncertainty where the clamping puts it', () => {
  const clamped: Widths = { ...nothing, placementMm: 0.25 };
  const captures = (count: number) =>
    [at(0, 90), at(2, -90)].flatMap((r) =>
      Array.from({ length: count }, () => ({ ...r, standardErrorMm: 0.1 })),
    );
  const level = [levelOf(three)];
  const u = (count: number) => measure(solveTips(three, captures(count), clamped, level), 'level').uMm;
  expect(u(1)).toBeCloseTo(Math.sqrt(2 * (0.25 ** 2 + 0.1 ** 2)), 4);
  expect(u(50)).toBeCloseTo(Math.sqrt(2 * (0.25 ** 2 + 0.1 ** 2 / 50)), 4);
  const moved = captures(50).map((r, i) => ({ ...r, placement: i }));
  const again = measure(solveTips(three, moved, clamped, level), 'level').uMm;
  expect(again).toBeCloseTo(Math.sqrt((2 * (0.25 ** 2 + 0.1 ** 2)) / 50), 4);
});

test('texture falls with pointing again, not with repeats, and never at a spot that was given', () => {
  const grainy: Widths = { ...nothing, textureMm: 0.3 };
  const u = (readings: TipReading[]) =>
    measure(solveTips(three, readings, grainy, [levelOf(three)]), 'level').uMm;
  const both = [at(0, 90), at(2, -90)];
  const repeated = [...both, ...both, ...both, ...both];
  const pointed = repeated.map((r, i) => ({ ...r, placement: i }));
  const onPlates = pointed.map((r) => ({ ...r, spot: { xMm: 520, yMm: r.spindle === 0 ? 660 : -660 } }));
  const once = Math.sqrt(2) * 0.3;
  expect(u(both)).toBeCloseTo(once, 2);
  expect(u(repeated)).toBeCloseTo(once, 2);
  expect(u(pointed)).toBeCloseTo(once / 2, 2);
  expect(u(onPlates)).toBeCloseTo(once, 2);
});

test('a floor that waves over a long distance matters less, and is not free', () => {
  const level = [levelOf(three)];
  const u = [400, 1000, 2000, 20_000].map((floorLengthMm) => {
    const wavy = { ...nothing, floorMm: 2, floorLengthMm };
    return measure(solveTips(three, [at(0, 90), at(2, -90)], wavy, level), 'level').uMm;
  });
  console.log(
    `u(level) for 2 mm of floor alike over 0.4, 1, 2, 20 m: ${u.map((x) => x.toFixed(2)).join(', ')} mm`,
  );
  for (let i = 1; i < u.length; i++) expect(u[i]).toBeLessThan(u[i - 1]);
  expect(u[0]).toBeGreaterThan(2);
  expect(u[3]).toBeLessThan(0.05);
});

test('one seating: u(level) is no better than the slope of the stop', () => {
  const seated = { ...nothing, seatingSlopeRad: 0.001 };
  const span = three.spindles[0].yMm - three.spindles[2].yMm + 460;
  const level = [levelOf(three)];
  const u = (second: number) => {
    const other = [at(0, 90), at(2, -90)].map((r) => ({
      ...r,
      seating: second,
      placement: r.placement + 500,
    }));
    return measure(solveTips(three, [at(0, 90), at(2, -90), ...other], seated, level), 'level').uMm;
  };
  expect(u(1)).toBeCloseTo(0.001 * span, 2);
  expect(u(2)).toBeCloseTo((0.001 * span) / Math.sqrt(2), 2);
});

describe('what was not measured is not determined', () => {
  test('a bend of which one end was read', () => {
    const ends = readingsRound(1).filter((r) => r.end === 1 || r.spindle === 1);
    const { measures } = solveTips(three, ends, widths, questions);
    expect(measures.map((m) => [m.name, m.determined])).toEqual([
      ['level', true],
      ['rake', true],
      ['cut height', true],
      ['left bend', false],
      ['middle bend', true],
      ['right bend', false],
    ]);
  });

  test('a level whose right tip was not read, however narrow the priors', () => {
    const narrow = { ...widths, spindleHeightMm: 0.001, spindleTiltRad: 0.00001 };
    const readings = readingsRound(1).filter((r) => r.spindle !== 2);
    const { measures, measureCovariance } = solveTips(three, readings, narrow, questions);
    expect(measures[0]).toEqual({ name: 'level', determined: false });
    expect(measureCovariance[0]).toBe(0);
    expect(measures[2].determined).toBe(true);
  });

  test('a heading that was not read, unless three others on the spindle give it', () => {
    const asked = [levelOf(three)];
    const right = at(2, -90);
    const with2 = solveTips(three, [at(0, 0), at(0, 180), right], widths, asked);
    const with3 = solveTips(three, [at(0, 0), at(0, 180), at(0, -90), right], widths, asked);
    expect(with2.measures[0].determined).toBe(false);
    expect(with3.measures[0].determined).toBe(true);
  });

  test('one tip: no pose, but its height', () => {
    const solution = solveTips(three, [at(1, 0)], widths, questions);
    expect(solution.pose).toBe('not determined');
    expect(solution.tips).toHaveLength(1);
    expect(measure(solution, 'cut height').valueMm).toBeCloseTo(75, 6);
    expect(solution.residuals).toEqual([{ determined: false }]);
  });

  test('no readings, or widths that are no numbers', () => {
    for (const solution of [
      solveTips(three, [], widths, questions),
      solveTips(three, readingsRound(1), { ...widths, placementMm: NaN }, questions),
    ]) {
      expect(solution.pose).toBe('not determined');
      expect(solution.measures.every((m) => !m.determined)).toBe(true);
    }
  });
});

describe('layouts', () => {
  const round = (layout: Layout): TipReading[] => {
    const asks: Ask[] = layout.spindles.flatMap((_, spindle) =>
      [0, 90, 180, -90].flatMap((headingDeg) =>
        [1, -1].map((end) => ({
          spindle,
          headingDeg,
          end: end as 1 | -1,
          seating: 1,
          placement: 2 * spindle + end,
        })),
      ),
    );
    return drawJob(seededRandom(5), layout, widths, asks, 0.03).readings;
  };
  const separate = (layout: Layout, wide: Widths) => {
    const { pose } = solveTips(layout, round(layout), wide, []);
    return pose === 'not determined' ? pose : [pose.slopeXSeparate, pose.slopeYSeparate];
  };
  // A shell so true that the heights of its spindles show its slope.
  const stiff = { ...widths, spindleHeightMm: 0.05, floorMm: 0.1, spindleTiltRad: 0.01 };

  test('one spindle: tilt and slope cannot be told apart, level can', () => {
    const one = lineOf(1, 0);
    expect(separate(one, stiff)).toEqual([false, false]);
    const solution = solveTips(one, round(one), stiff, [levelOf(one)]);
    expect(solution.spindles[0].tiltXRad.determined).toBe(false);
    expect(measure(solution, 'level').uMm).toBeLessThan(0.6);
  });

  test('two, in line or staggered: apart sideways only, since they show one slope; three staggered: both', () => {
    expect(separate(lineOf(2, 0), stiff)).toEqual([false, true]);
    expect(separate(lineOf(2, 250), stiff)).toEqual([false, true]);
    expect(separate(lineOf(3, 250), stiff)).toEqual([true, true]);
  });

  test('five spindles: level is determined, every tip is given', () => {
    const five = lineOf(5, 200);
    const solution = solveTips(five, round(five), widths, [levelOf(five)]);
    expect(measure(solution, 'level').uMm).toBeLessThan(2);
    expect(solution.tips).toHaveLength(20);
    expect(separate(five, stiff)).toEqual([true, true]);
  });
});

test('a reading that is 3 mm out stands out among the residuals', () => {
  const asks: Ask[] = readingsRound(1).map(({ spindle, headingDeg, end, placement }) => ({
    spindle,
    headingDeg,
    end,
    seating: 1,
    placement,
  }));
  const { readings } = drawJob(seededRandom(6), three, widths, asks, 0.03);
  const wrong = readings.map((r, i) => (i === 7 ? { ...r, heightMm: r.heightMm + 3 } : r));
  const { residuals } = solveTips(three, wrong, widths, questions);
  const sizes = residuals.map((r) => (r.determined ? Math.abs(r.standardised) : 0));
  expect(sizes.indexOf(Math.max(...sizes))).toBe(7);
  expect(sizes[7]).toBeGreaterThan(4);
});

test('a leave-one-out residual is what the solver predicts without that reading', () => {
  // With no correlation between readings, the tip's own height is the prediction.
  const plain = { ...nothing, placementMm: 0.2 };
  const readings = [...readingsRound(1)].map((r, i) => ({ ...r, end: 1 as const, placement: i }));
  const { residuals } = solveTips(three, readings, plain, []);
  for (const i of [0, 5, 17]) {
    const { spindle, headingDeg, heightMm } = readings[i];
    const others = readings.filter((_, k) => k !== i);
    const name = 'tip';
    const asked: MeasureQuestion[] = [
      { what: 'tips', name, terms: [{ spindle, headingDeg, weight: 1 }], ...limits },
    ];
    const { valueMm, uMm } = measure(solveTips(three, others, plain, asked), name);
    const residual = residuals[i];
    if (!residual.determined) throw new Error('no residual');
    expect(residual.valueMm).toBeCloseTo(heightMm - valueMm, 8);
    const deviation = Math.sqrt(uMm ** 2 + 0.2 ** 2 + 0.02 ** 2);
    expect(residual.standardised).toBeCloseTo((heightMm - valueMm) / deviation, 5);
  }
});

describe('two fixtures', () => {
  // Left is read by one fixture and right by the other: GUM 5.1.2, the variances of two independent zeros add up; one zero
  // for both cancels.
  const zeros: Widths = { ...nothing, offsetMm: 0.2, spindleHeightMm: 5 };
  const level: MeasureQuestion = {
    ...{ what: 'tips', name: 'level', ...limits },
    terms: [
      { spindle: 0, headingDeg: 90, weight: 1 },
      { spindle: 2, headingDeg: -90, weight: -1 },
    ],
  };
  const read = (instrumentOfRight: number): TipReading[] =>
    [0, 1, 2].flatMap((spindle) =>
      [90, -90, 0].map((heading) => ({
        ...at(spindle, heading),
        standardErrorMm: 0,
        instrument: spindle === 2 ? instrumentOfRight : 0,
      })),
    );

  test('the zero of one cancels in level, the zeros of two do not', () => {
    const uMm = (instrument: number) =>
      measure(solveTips(three, read(instrument), zeros, [level]), 'level').uMm;
    expect(uMm(0)).toBeLessThan(0.001);
    expect(uMm(1)).toBeGreaterThan(0.1);
    expect(uMm(1)).toBeLessThan(0.2 * Math.SQRT2 + 0.001);
  });
});
