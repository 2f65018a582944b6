/** What to turn, carried out on the simulation's own statics (brute force), never on the solver's formula. */
import { describe, expect, test } from 'vitest';
import {
  whatToTurn,
  type Hanging,
  type Layout,
  type MeasureQuestion,
  type MeasureResult,
  type Turning,
} from '../../../protocol/solver';
import { seededRandom, type Random } from '../../../host/simulation/random';
import { restOnSupports } from '../../../host/simulation/statics';
import { hanging as four, layout as three, questions } from '../../bench/example';

type Plane = { z0Mm: number; slopeX: number; slopeY: number };

const tipQuestions = questions.filter((q) => q.what === 'tips');

function valueOn(plane: Plane, layout: Layout, question: MeasureQuestion): number {
  if (question.what === 'bend') return 0;
  return question.terms.reduce((sum, { spindle, headingDeg, weight }) => {
    const { xMm, yMm, tipRadiusMm } = layout.spindles[spindle];
    const x = xMm + tipRadiusMm * Math.cos((headingDeg * Math.PI) / 180);
    const y = yMm + tipRadiusMm * Math.sin((headingDeg * Math.PI) / 180);
    return sum + weight * (plane.z0Mm + plane.slopeX * x + plane.slopeY * y);
  }, 0);
}

function solved(plane: Plane, layout: Layout, asked: readonly MeasureQuestion[], uMm: number) {
  const measures = asked.map((q): MeasureResult => ({
    name: q.name,
    determined: true,
    valueMm: valueOn(plane, layout, q),
    standardUncertaintyMm: uMm,
  }));
  return { layout, measures };
}

function deck(random: Random): Plane {
  return { z0Mm: 80 + random.normal(3), slopeX: random.normal(0.01), slopeY: random.normal(0.01) };
}

/** Where the deck comes to rest after the turns, with true ratios that are `factors` times the nominal ones. */
function turnedDeck(before: Plane, hanging: Hanging, turns: readonly number[], factors?: readonly number[]) {
  const heights = hanging.hangers.map((h) => before.z0Mm + before.slopeX * h.xMm + before.slopeY * h.yMm);
  for (const [j, { moves }] of hanging.adjusters.entries()) {
    for (const { hanger, mmPerTurn } of moves) heights[hanger] += mmPerTurn * turns[j] * (factors?.[j] ?? 1);
  }
  return restOnSupports(hanging.hangers, heights, hanging.centreOfGravity);
}

function turn(...args: Parameters<typeof whatToTurn>): Turning {
  const found = whatToTurn(...args);
  if (found === undefined) throw new Error('the deck tips');
  return found;
}

const all = (hanging: Hanging) => hanging.hangers.map(() => true);
const free = [-100, 100] as const;

const hangings: [string, Hanging][] = [
  [
    'four hangers, one adjuster each',
    { ...four, adjusters: four.adjusters.map((a) => ({ ...a, travelTurns: free })) },
  ],
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
        moves: [{ hanger, mmPerTurn: 1.2 + hanger }],
        ratioUncertainty: 0.03,
        travelTurns: free,
      })),
    },
  ],
  [
    'four hangers on two bell-cranks and a rear pair of nuts',
    {
      ...four,
      adjusters: [
        // Front both alike, rear both alike, and left against right.
        {
          moves: [0, 1].map((hanger) => ({ hanger, mmPerTurn: 1.5 })),
          ratioUncertainty: 0.05,
          travelTurns: free,
        },
        {
          moves: [2, 3].map((hanger) => ({ hanger, mmPerTurn: 2 })),
          ratioUncertainty: 0.05,
          travelTurns: free,
        },
        {
          moves: [
            { hanger: 0, mmPerTurn: 1.5 },
            { hanger: 1, mmPerTurn: -1.5 },
            { hanger: 2, mmPerTurn: 1.7 },
            { hanger: 3, mmPerTurn: -1.7 },
          ],
          ratioUncertainty: 0.05,
          travelTurns: free,
        },
      ],
    },
  ],
  [
    'six hangers',
    {
      hangers: [900, 600, 300].flatMap((xMm) => [350, -350].map((yMm) => ({ xMm, yMm }))),
      centreOfGravity: { xMm: 590, yMm: -15 },
      adjusters: Array.from({ length: 6 }, (_, hanger) => ({
        moves: [{ hanger, mmPerTurn: 1.75 }],
        ratioUncertainty: 0.1,
        travelTurns: free,
      })),
    },
  ],
];

describe.each(hangings)('%s', (_, hanging) => {
  test('the turned deck is on its targets with every hanger carrying', () => {
    const random = seededRandom(20);
    for (let round = 0; round < 50; round++) {
      const before = deck(random);
      const answer = turn(solved(before, three, tipQuestions, 0.3), hanging, tipQuestions, all(hanging));
      const after = turnedDeck(before, hanging, answer.turns);
      for (const [i, question] of tipQuestions.entries()) {
        const value = valueOn(after, three, question);
        expect(value).toBeCloseTo(question.targetMm, 3);
        const stated = answer.after[i];
        expect(stated.determined && stated.valueMm).toBeCloseTo(value, 6);
      }
      for (const slack of after.slackMm) expect(slack).toBeLessThan(0.001);
      expect(answer.carryingAfter).toEqual(all(hanging));
      expect(answer.limitedBy).toEqual([]);
    }
  });
});

test.each([1, 2, 5, 7])('%d spindles', (count) => {
  const spindles = Array.from({ length: count }, (_, k) => ({
    xMm: 600 + 150 * (k % 2),
    yMm: ((count - 1) / 2 - k) * 380,
    tipRadiusMm: 215,
  }));
  const layout: Layout = { ...three, spindles };
  const limits = { targetMm: 0, lowerMm: -3, upperMm: 3 };
  const asked: MeasureQuestion[] = [
    {
      what: 'tips',
      name: 'level',
      terms: [
        { spindle: 0, headingDeg: 90, weight: 1 },
        { spindle: count - 1, headingDeg: -90, weight: -1 },
      ],
      ...limits,
    },
    {
      what: 'tips',
      name: 'rake',
      terms: [
        { spindle: 0, headingDeg: 180, weight: 1 },
        { spindle: 0, headingDeg: 0, weight: -1 },
      ],
      ...limits,
      targetMm: 1,
    },
  ];
  const before = deck(seededRandom(21 + count));
  const [, hanging] = hangings[0];
  const answer = turn(solved(before, layout, asked, 0.3), hanging, asked, all(hanging));
  const after = turnedDeck(before, hanging, answer.turns);
  expect(valueOn(after, layout, asked[0])).toBeCloseTo(0, 3);
  expect(valueOn(after, layout, asked[1])).toBeCloseTo(1, 3);
  // Nothing asks for a height. Turns that keep all hangers carrying are a plane over the hangers, and of all planes with
  // the wanted slopes the one whose turns add up to nothing has the least sum of squares.
  expect(answer.turns.reduce((sum, t) => sum + t, 0)).toBeCloseTo(0, 3);
});

describe.each([0.03, 0.1])('ratios %d uncertain', (ratioUncertainty) => {
  test('spread and joint probability are what the simulated mechanism does', () => {
    const random = seededRandom(30);
    const [, base] = hangings[0];
    const hanging = { ...base, adjusters: base.adjusters.map((a) => ({ ...a, ratioUncertainty })) };
    const tight = tipQuestions.map((q) => ({ ...q, lowerMm: q.targetMm - 2, upperMm: q.targetMm + 2 }));
    const uMm = 0.4;
    for (let round = 0; round < 4; round++) {
      const before = deck(random);
      const answer = turn(solved(before, three, tight, uMm), hanging, tight, all(hanging));
      const trials = 3000;
      const squares = tight.map(() => 0);
      let bound = 0;
      for (let trial = 0; trial < trials; trial++) {
        const factors = hanging.adjusters.map(() => 1 + random.normal(ratioUncertainty));
        const after = turnedDeck(before, hanging, answer.turns, factors);
        let outside = 0;
        for (const [i, question] of tight.entries()) {
          const value = valueOn(after, three, question);
          // The measuring error is apart from the mechanism's, as in a real job.
          const draws = 20;
          for (let d = 0; d < draws; d++)
            outside += Math.abs(value + random.normal(uMm) - question.targetMm) > 2 ? 1 / draws : 0;
          squares[i] += (value - question.targetMm) ** 2 / trials;
        }
        bound += Math.max(0, 1 - outside) / trials;
      }
      for (const [i, measure] of answer.after.entries()) {
        const expected = Math.sqrt(uMm ** 2 + squares[i]);
        const stated = measure.determined ? measure.standardUncertaintyMm : 0;
        expect(Math.abs(stated / expected - 1)).toBeLessThan(0.15);
      }
      expect(Math.abs(answer.jointProbability - bound)).toBeLessThan(0.04);
    }
  });
});

describe('what stops it', () => {
  const before: Plane = { z0Mm: 70, slopeX: 0.004, slopeY: 0.003 };
  const solution = solved(before, three, tipQuestions, 0.3);
  const lost = (from: Plane, turns: readonly number[]) => {
    const after = turnedDeck(from, four, turns);
    return tipQuestions.reduce((sum, q) => {
      const half = (q.upperMm - q.lowerMm) / 2;
      return sum + ((valueOn(after, three, q) - q.targetMm) / half) ** 2;
    }, 0);
  };

  test('travel: the answer stays inside, says so, and no neighbour inside is better', () => {
    const random = seededRandom(40);
    let stopped = 0;
    for (let round = 0; round < 200; round++) {
      const short = four.adjusters.map((a) => ({
        ...a,
        travelTurns: [random.between(-4, 0), random.between(0, 4)] as const,
      }));
      const inside = (turns: readonly number[]) =>
        turns.every((t, j) => t >= short[j].travelTurns[0] && t <= short[j].travelTurns[1]);
      const deckBefore = { ...before, z0Mm: before.z0Mm + random.normal(3), slopeY: random.normal(0.01) };
      const found = turn(
        solved(deckBefore, three, tipQuestions, 0.3),
        { ...four, adjusters: short },
        tipQuestions,
        all(four),
      );
      expect(inside(found.turns)).toBe(true);
      expect(found.carryingAfter).toEqual(all(four));
      if (!found.atTravelEnd.includes(true)) continue;
      stopped += 1;
      expect(found.limitedBy).toContain('travel');
      // Neighbours that keep all four hangers carrying differ by a plane over the hangers.
      const here = lost(deckBefore, found.turns);
      for (let trial = 0; trial < 200; trial++) {
        const [a, b, c] = [random.normal(0.2), random.normal(0.2), random.normal(0.2)];
        const moved = four.hangers.map((h, j) => found.turns[j] + a + (b * h.xMm + c * h.yMm) / 500);
        if (inside(moved)) expect(lost(deckBefore, moved)).toBeGreaterThan(here - 1e-2);
      }
    }
    expect(stopped).toBeGreaterThan(100);
  });

  test('no travel at all: nothing is turned', () => {
    const stuck = four.adjusters.map((a) => ({ ...a, travelTurns: [0, 0] as const }));
    const answer = turn(solution, { ...four, adjusters: stuck }, tipQuestions, all(four));
    expect(answer.turns).toEqual([0, 0, 0, 0]);
    expect(answer.limitedBy).toContain('travel');
  });

  test('a bent blade and a measure that was not read are named', () => {
    const measures: MeasureResult[] = [
      ...solution.measures,
      { name: 'left bend', determined: true, valueMm: 5, standardUncertaintyMm: 0.2 },
      { name: 'middle bend', determined: false },
      { name: 'right bend', determined: true, valueMm: 0, standardUncertaintyMm: 0.2 },
    ];
    const answer = turn({ layout: three, measures }, hangings[0][1], questions, all(four));
    expect(answer.limitedBy).toEqual(['bend left bend', 'not determined middle bend']);
  });

  test('one adjuster cannot do three things', () => {
    const one = {
      ...four,
      adjusters: [
        {
          moves: [0, 1, 2, 3].map((hanger) => ({ hanger, mmPerTurn: 1 })),
          ratioUncertainty: 0.01,
          travelTurns: free,
        },
      ],
    };
    const answer = turn(solution, one, tipQuestions, all(four));
    expect(answer.limitedBy).toContain('too few adjusters');
    expect(answer.carryingAfter).toEqual(all(four));
  });
});

test('two adjusters on one hanger share the work: the least turning', () => {
  const [, hanging] = hangings[0];
  const doubled = { ...hanging, adjusters: [...hanging.adjusters, hanging.adjusters[0]] };
  const before: Plane = { z0Mm: 76, slopeX: 0.002, slopeY: 0.004 };
  const answer = turn(solved(before, three, tipQuestions, 0.3), doubled, tipQuestions, all(hanging));
  const single = turn(solved(before, three, tipQuestions, 0.3), hanging, tipQuestions, all(hanging));
  expect(answer.turns[0]).toBeCloseTo(answer.turns[4], 6);
  expect(answer.turns[0] + answer.turns[4]).toBeCloseTo(single.turns[0], 3);
});

test('a hanger that was felt slack is to be taken up first', () => {
  const answer = turn(solved(deck(seededRandom(1)), three, tipQuestions, 0.3), four, tipQuestions, [
    true,
    true,
    false,
    true,
  ]);
  expect(answer.takeUpFirst).toEqual([false, false, true, false]);
});

test('a deck that would tip has no answer', () => {
  const tipping = { ...four, centreOfGravity: { xMm: 2000, yMm: 0 } };
  expect(
    whatToTurn(solved(deck(seededRandom(1)), three, tipQuestions, 0.3), tipping, tipQuestions, all(four)),
  ).toBeUndefined();
});
