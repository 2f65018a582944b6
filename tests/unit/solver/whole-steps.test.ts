/**
 * What to turn in whole steps, against trying every lattice point. The statics of the brute force are the simulation's and
 * its errors are drawn at random, so that nothing of the search is used to judge it.
 */
import { describe, expect, test } from 'vitest';
import {
  turnInSteps,
  type Hanging,
  type MeasureQuestion,
  type MeasureResult,
} from '../../../protocol/solver';
import { seededRandom, type Random } from '../../../host/simulation/random';
import { restOnSupports } from '../../../host/simulation/statics';
import { hanging as four, layout, questions } from '../../bench/example';

const tips = questions.filter((q) => q.what === 'tips');

/** Less of it, so that the brute force ends. */
const HALF_TURN = 0.5;
const SLACK_LIMIT_MM = 0.3;

function measuresAt(valuesMm: readonly number[], uMm: number): MeasureResult[] {
  return tips.map(({ name }, i) => ({
    name,
    determined: true,
    valueMm: valuesMm[i],
    standardUncertaintyMm: uMm,
  }));
}

/** Change of every measure when the deck moves by a plane. */
function shifts(plane: { z0Mm: number; slopeX: number; slopeY: number }): number[] {
  return tips.map((q) =>
    (q.what === 'tips' ? q.terms : []).reduce((sum, { spindle, headingDeg, weight }) => {
      const { xMm, yMm, tipRadiusMm } = layout.spindles[spindle];
      const heading = (headingDeg * Math.PI) / 180;
      const x = xMm + tipRadiusMm * Math.cos(heading);
      const y = yMm + tipRadiusMm * Math.sin(heading);
      return sum + weight * (plane.z0Mm + plane.slopeX * x + plane.slopeY * y);
    }, 0),
  );
}

function rest(hanging: Hanging, turns: readonly number[], factors?: readonly number[]) {
  const rises = hanging.hangers.map(() => 0);
  hanging.adjusters.forEach(({ moves }, j) =>
    moves.forEach(({ hanger, mmPerTurn }) => (rises[hanger] += mmPerTurn * turns[j] * (factors?.[j] ?? 1))),
  );
  return restOnSupports(hanging.hangers, rises, hanging.centreOfGravity);
}

/** Monte Carlo over ratio errors and what the measures are not known by: all measures inside at once. */
function probabilityInside(
  hanging: Hanging,
  turns: readonly number[],
  valuesMm: readonly number[],
  uMm: number,
  draws: readonly { factors: number[]; errors: number[] }[],
): number {
  let inside = 0;
  for (const { factors, errors } of draws) {
    const change = shifts(rest(hanging, turns, factors));
    const ok = tips.every((q, i) => {
      const value = valuesMm[i] + change[i] + errors[i] * uMm;
      return value >= q.lowerMm && value <= q.upperMm;
    });
    if (ok) inside += 1 / draws.length;
  }
  return inside;
}

function drawsFor(hanging: Hanging, count: number, random: Random) {
  return Array.from({ length: count }, () => ({
    factors: hanging.adjusters.map((a) => 1 + random.normal(a.ratioUncertainty)),
    errors: tips.map(() => random.normal(1)),
  }));
}

/** Every choice of whole steps from -reach to reach, within the travel. */
function* lattice(hanging: Hanging, reach: number, step: number): Generator<number[]> {
  const count = hanging.adjusters.length;
  const places = 2 * reach + 1;
  for (let code = 0; code < places ** count; code++) {
    const turns = hanging.adjusters.map((_, j) => ((Math.floor(code / places ** j) % places) - reach) * step);
    if (
      turns.every(
        (t, j) => t >= hanging.adjusters[j].travelTurns[0] && t <= hanging.adjusters[j].travelTurns[1],
      )
    )
      yield turns;
  }
}

const used = (turns: readonly number[]) => turns.filter((t) => t !== 0).length;
const turning = (turns: readonly number[]) => turns.reduce((sum, t) => sum + Math.abs(t), 0);

const cases: [string, Hanging, number][] = [
  [
    'three hangers',
    {
      hangers: [
        { xMm: 950, yMm: 0 },
        { xMm: 300, yMm: 350 },
        { xMm: 320, yMm: -330 },
      ],
      centreOfGravity: { xMm: 560, yMm: 20 },
      adjusters: [0, 1, 2].map((hanger) => ({
        moves: [{ hanger, mmPerTurn: 1.5 }],
        ratioUncertainty: 0.1,
        travelTurns: [-3, 3],
      })),
    },
    6,
  ],
  [
    'a front pair, a rear pair and a bell-crank for left against right',
    {
      ...four,
      adjusters: [
        {
          moves: [0, 1].map((hanger) => ({ hanger, mmPerTurn: 1.5 })),
          ratioUncertainty: 0.1,
          travelTurns: [-3, 3],
        },
        {
          moves: [2, 3].map((hanger) => ({ hanger, mmPerTurn: 1.5 })),
          ratioUncertainty: 0.1,
          travelTurns: [-3, 3],
        },
        {
          moves: [0, 1, 2, 3].map((hanger) => ({ hanger, mmPerTurn: hanger % 2 === 0 ? 1.5 : -1.5 })),
          ratioUncertainty: 0.1,
          travelTurns: [-3, 3],
        },
      ],
    },
    6,
  ],
  [
    'four hangers, short travel',
    {
      ...four,
      adjusters: four.adjusters.map((a) => ({ ...a, ratioUncertainty: 0.05, travelTurns: [-1.5, 1.5] })),
    },
    3,
  ],
];

describe.each(cases)('%s: no lattice point is better', (_, hanging, reach) => {
  const stepTurns = hanging.adjusters.map(() => HALF_TURN);
  test.each([1, 2, 3, 4])('start %d', (seed) => {
    const random = seededRandom(50 + seed);
    const uMm = 0.5;
    const valuesMm = tips.map((q) => q.targetMm + random.normal(3));
    const found = turnInSteps(
      { layout, measures: measuresAt(valuesMm, uMm) },
      hanging,
      tips,
      hanging.hangers.map(() => true),
      stepTurns,
    );
    if (found === undefined) throw new Error('the deck tips');
    const draws = drawsFor(hanging, 400, random);
    const worth = (turns: readonly number[]) => probabilityInside(hanging, turns, valuesMm, uMm, draws);
    let best = 0;
    const good: { turns: number[]; probability: number }[] = [];
    for (const turns of lattice(hanging, reach, HALF_TURN)) {
      const nominal = rest(hanging, turns);
      if (Math.max(...nominal.slackMm) > SLACK_LIMIT_MM) continue;
      // Only what is inside its limits for nominal ratios, nearly, can be likely to be inside.
      const change = shifts(nominal);
      if (tips.some((q, i) => Math.abs(valuesMm[i] + change[i] - q.targetMm) > 5)) continue;
      const probability = worth(turns);
      best = Math.max(best, probability);
      good.push({ turns, probability });
    }
    // 400 draws tell probabilities apart to about 0.02.
    expect(worth(found.turns)).toBeGreaterThan(0.99 * best - 0.02);
    expect(Math.max(...rest(hanging, found.turns).slackMm)).toBeLessThanOrEqual(SLACK_LIMIT_MM);
    // Nothing that is clearly as good as the best does with fewer adjusters, or with less turning of as many.
    const clearly = good.filter((g) => g.probability >= Math.min(1, 0.99 * best + 0.02));
    for (const { turns } of clearly) {
      expect(used(turns)).toBeGreaterThanOrEqual(used(found.turns));
      if (used(turns) === used(found.turns))
        expect(turning(turns)).toBeGreaterThan(turning(found.turns) - HALF_TURN - 1e-9);
    }
  });
});

describe('an answer', () => {
  const flats = [1, 1, 1, 1].map((s) => s / 6);
  const all = [true, true, true, true];
  const turn = (
    hanging: Hanging,
    valuesMm: number[],
    asked: readonly MeasureQuestion[] = tips,
    uMm = 0.3,
  ) => {
    const found = turnInSteps({ layout, measures: measuresAt(valuesMm, uMm) }, hanging, asked, all, flats);
    if (found === undefined) throw new Error('the deck tips');
    return found;
  };

  test('is in whole flats within the travel, and says what the statics do', () => {
    const random = seededRandom(70);
    for (let round = 0; round < 15; round++) {
      const valuesMm = tips.map((q) => q.targetMm + random.normal(5));
      const short = four.adjusters.map((a) => ({
        ...a,
        travelTurns: [random.between(-4, 0), random.between(0, 4)] as const,
      }));
      const found = turn({ ...four, adjusters: short }, valuesMm);
      found.turns.forEach((turns, j) => {
        expect(Math.abs(turns * 6 - Math.round(turns * 6))).toBeLessThan(1e-9);
        expect(turns).toBeGreaterThanOrEqual(short[j].travelTurns[0]);
        expect(turns).toBeLessThanOrEqual(short[j].travelTurns[1]);
      });
      const change = shifts(rest(four, found.turns));
      found.after.forEach((after, i) => {
        expect(after.determined && after.valueMm).toBeCloseTo(valuesMm[i] + change[i], 6);
      });
    }
  });

  test('turns nothing on a machine that is on its targets', () => {
    expect(
      turn(
        four,
        tips.map((q) => q.targetMm),
      ).steps,
    ).toEqual([0, 0, 0, 0]);
  });

  test('out of reach: says what stops it and still lessens what is outside', () => {
    const stuck = four.adjusters.map((a) => ({ ...a, travelTurns: [-1, 1] as const }));
    const valuesMm = [25, 6, 75];
    const found = turn({ ...four, adjusters: stuck }, valuesMm);
    expect(found.limitedBy).toContain('travel');
    expect(found.limitedBy).toContain('out of reach level');
    const after = found.after[0];
    expect(after.determined && after.valueMm).toBeLessThan(24);
    expect(found.jointProbability).toBeLessThan(0.01);
  });

  test.each([
    [40, -25, 12],
    [-30, 8, -40],
    [5, 60, 20],
  ])('out of reach by %d, %d and %d mm: no lattice point leaves less outside', (...offMm) => {
    const stiff: Hanging = {
      ...four,
      adjusters: four.adjusters.map((a) => ({ ...a, ratioUncertainty: 1e-6, travelTurns: [-1.5, 1.5] })),
    };
    const valuesMm = tips.map((q, i) => q.targetMm + (offMm[i] ?? 0));
    const found = turnInSteps(
      { layout, measures: measuresAt(valuesMm, 0.5) },
      stiff,
      tips,
      [true, true, true, true],
      [HALF_TURN, HALF_TURN, HALF_TURN, HALF_TURN],
    );
    if (found === undefined) throw new Error('the deck tips');
    // With exact ratios the expected violation is what stands outside, in half widths of its limits; the solver also
    // displaces the weight a little, which moves a deck with slack: that may choose otherwise by a hundredth.
    const outside = (turns: readonly number[]) => {
      const change = shifts(rest(stiff, turns));
      return tips.reduce((sum, q, i) => {
        const value = (valuesMm[i] ?? NaN) + (change[i] ?? NaN);
        return sum + (2 * Math.max(0, q.lowerMm - value, value - q.upperMm)) / (q.upperMm - q.lowerMm);
      }, 0);
    };
    const possible = [...lattice(stiff, 3, HALF_TURN)].filter(
      (turns) => Math.max(...rest(stiff, turns).slackMm) <= SLACK_LIMIT_MM,
    );
    const least = Math.min(...possible.map(outside));
    expect(outside(found.turns)).toBeLessThanOrEqual(least * 1.01);
    expect(outside(tips.map(() => 0).concat(0))).toBeGreaterThan(least);
  });

  test('a weight near the crossing of the diagonals is fragile only with slack in the answer', () => {
    const square: Hanging = {
      ...four,
      hangers: [
        { xMm: 900, yMm: 300 },
        { xMm: 900, yMm: -300 },
        { xMm: 300, yMm: 300 },
        { xMm: 300, yMm: -300 },
      ],
      centreOfGravity: { xMm: 600, yMm: 1 },
    };
    // Two diagonal hangers that cannot move and two that must: the slack is 1.5 mm whatever is done.
    const coarse = turnInSteps(
      { layout, measures: measuresAt([0, 6, 60], 0.3) },
      {
        ...square,
        adjusters: square.adjusters.slice(0, 1).map((a) => ({ ...a, travelTurns: [0, 8] as const })),
      },
      tips,
      all,
      [2],
    );
    expect(coarse?.steps).toEqual([0]);
    const level = turn(square, [0, 6, 72]);
    expect(level.fragile).toBe(false);
    expect(Math.max(...level.slackAfterMm)).toBeLessThanOrEqual(SLACK_LIMIT_MM);
  });

  test('ratios that are hardly known leave slack as often as it says, and the likeliest hanger is set by feel', () => {
    const vague = { ...four, adjusters: four.adjusters.map((a) => ({ ...a, ratioUncertainty: 0.15 })) };
    const found = turn(vague, [8, 3, 66]);
    const draws = drawsFor(vague, 2000, seededRandom(80));
    const slack = four.hangers.map(() => 0);
    for (const { factors } of draws) {
      rest(vague, found.turns, factors).slackMm.forEach((mm, h) => {
        if (mm > SLACK_LIMIT_MM) slack[h] += 1 / draws.length;
      });
    }
    found.slackProbability.forEach((share, h) => expect(Math.abs(share - slack[h])).toBeLessThan(0.1));
    expect(slack[found.lastByFeel]).toBeGreaterThan(Math.max(...slack) - 0.1);
    const known = { ...four, adjusters: four.adjusters.map((a) => ({ ...a, ratioUncertainty: 0.005 })) };
    expect(turn(known, [8, 3, 66]).lastByFeel).toBe(-1);
  });
});
