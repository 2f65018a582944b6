/** Learning what one turn does, from rounds that the simulation's own statics and linkage answered. */
import { describe, expect, test } from 'vitest';
import { explainRound, learnGains, withGains, type TurningRound } from '../../../protocol/solver';
import { seededRandom, type Random } from '../../../host/simulation/random';
import { restOnSupports } from '../../../host/simulation/statics';
import { hanging as base } from '../../bench/example';

const four = { ...base, adjusters: base.adjusters.map((a) => ({ ...a, ratioUncertainty: 0.1 })) };
/** Spread of a change of pose between two sets of readings (height at the middle of the deck, slopes). */
const HEIGHT_SD_MM = 0.25;
const SLOPE_SD = 0.0004;
const MIDDLE = four.centreOfGravity;

/** A round on a deck that hung level: where it rests after the real rises, read with errors, slack felt beyond 0.3 mm. */
function round(real: readonly number[], said: readonly number[], random: Random, machine = 0): TurningRound {
  const rest = restOnSupports(four.hangers, real, MIDDLE);
  const slopeX = rest.slopeX + random.normal(SLOPE_SD);
  const slopeY = rest.slopeY + random.normal(SLOPE_SD);
  const middle =
    rest.z0Mm + rest.slopeX * MIDDLE.xMm + rest.slopeY * MIDDLE.yMm + random.normal(HEIGHT_SD_MM);
  // Covariance of (z0, slopes) when height is known at the middle: z0 = middle - slopes times place.
  const s = SLOPE_SD ** 2;
  const { xMm: x, yMm: y } = MIDDLE;
  return {
    machine,
    turns: said,
    carrying: rest.slackMm.map((mm) => mm <= 0.3),
    change: [middle - slopeX * x - slopeY * y, slopeX, slopeY],
    covariance: [HEIGHT_SD_MM ** 2 + s * (x * x + y * y), -s * x, -s * y, -s * x, s, 0, -s * y, 0, s],
  };
}

const risesOf = (turns: readonly number[], factors: readonly number[]) =>
  turns.map((t, j) => t * 1.5 * factors[j]);
/** Turns that move the deck by a plane: what a prescription looks like. */
const planeTurns = (random: Random) => {
  const [up, forward, left] = [random.normal(3), random.normal(0.008), random.normal(0.008)];
  return four.hangers.map((h) => (up + forward * (h.xMm - 630) + left * h.yMm) / 1.5);
};

describe('ratios of one machine', () => {
  test('nothing to learn from: the profile says', () => {
    const { gains, roundsUsed } = learnGains(four, []);
    expect(roundsUsed).toBe(0);
    for (const { factor, standardUncertainty } of gains) {
      expect(factor).toBeCloseTo(1, 12);
      expect(standardUncertainty).toBeCloseTo(0.1, 12);
    }
  });

  test('after twelve rounds they are known to 3 %, and the stated uncertainty is what they are off', () => {
    const random = seededRandom(100);
    let squares = 0;
    let stated = 0;
    let within = 0;
    const machines = 60;
    for (let m = 0; m < machines; m++) {
      const factors = four.adjusters.map(() => 1 + random.normal(0.1));
      const rounds = Array.from({ length: 12 }, () => {
        const turns = planeTurns(random);
        return round(risesOf(turns, factors), turns, random);
      });
      const { gains, refused } = learnGains(four, rounds);
      expect(refused.length).toBeLessThanOrEqual(1);
      gains.forEach(({ factor, standardUncertainty }, j) => {
        squares += (factor - factors[j]) ** 2 / (4 * machines);
        stated += standardUncertainty ** 2 / (4 * machines);
        if (Math.abs(factor - factors[j]) <= 2 * standardUncertainty) within += 1 / (4 * machines);
      });
    }
    expect(Math.sqrt(squares)).toBeLessThan(0.03);
    expect(within).toBeGreaterThan(0.9);
    expect(Math.sqrt(squares / stated)).toBeLessThan(1.2);
    expect(Math.sqrt(squares / stated)).toBeGreaterThan(0.4);
  });

  test('other machines of the model teach it, but less than its own rounds do', () => {
    const random = seededRandom(101);
    const factors = [1.12, 0.9, 1.05, 0.95];
    const on = (machine: number) =>
      Array.from({ length: 6 }, () => {
        const turns = planeTurns(random);
        return round(risesOf(turns, factors), turns, random, machine);
      });
    const own = learnGains(four, on(0)).gains;
    const others = learnGains(four, on(1)).gains;
    own.forEach(({ standardUncertainty }, j) => {
      expect(standardUncertainty).toBeLessThan(others[j].standardUncertainty);
      expect(others[j].standardUncertainty).toBeLessThan(0.1);
      expect(Math.abs(others[j].factor - factors[j])).toBeLessThan(3 * others[j].standardUncertainty);
    });
    // However many there are, what a machine adds by itself (2 %) stays.
    const many = learnGains(four, [1, 2, 3, 4, 5, 6, 7, 8].flatMap(on)).gains;
    for (const { standardUncertainty } of many) expect(standardUncertainty).toBeGreaterThan(0.019);
  });

  test('one trial turn where no ratio is known', () => {
    const unknown = { ...four, adjusters: four.adjusters.map((a) => ({ ...a, ratioUncertainty: 0.9 })) };
    const random = seededRandom(102);
    const factors = [0.6, 0.62, 1.5, 1.48];
    const turns = [1, 1, 1, 1];
    const { gains } = learnGains(unknown, [round(risesOf(turns, factors), turns, random)]);
    gains.forEach(({ factor, standardUncertainty }, j) => {
      expect(standardUncertainty).toBeLessThan(0.35);
      expect(Math.abs(factor - factors[j])).toBeLessThan(2.5 * standardUncertainty);
    });
  });

  test('a hanger that was found slack teaches nothing, and a round that contradicts is left out', () => {
    const random = seededRandom(103);
    const turns = [2, 2, 2, 2];
    const slack = round(risesOf(turns, [1, 1, 1, 0.5]), turns, random);
    expect(slack.carrying).toContain(false);
    const missing = slack.carrying.indexOf(false);
    expect(learnGains(four, [slack]).gains[missing].standardUncertainty).toBeCloseTo(0.1, 6);
    const wrong = round(risesOf([-2, -2, 2, 2], [1, 1, 1, 1]), turns, random);
    const learned = learnGains(four, [wrong]);
    expect(learned.refused).toEqual([0]);
    expect(learned.gains[0].factor).toBeCloseTo(1, 12);
  });

  test('learned ratios take the place of nominal ones', () => {
    const { adjusters } = withGains(
      four,
      [0.5, 1, 1, 2].map((factor) => ({ factor, standardUncertainty: 0.02 })),
    );
    expect(adjusters.map((a) => a.moves[0].mmPerTurn)).toEqual([0.75, 1.5, 1.5, 3]);
    expect(adjusters.map((a) => a.ratioUncertainty)).toEqual([0.04, 0.02, 0.02, 0.01]);
  });
});

describe('a round that did not come out as said', () => {
  const random = seededRandom(110);
  const done = [2, -1.5, 2.5, -1];
  const ones = [1, 1, 1, 1];
  const explained = (real: readonly number[], said: readonly number[]) =>
    explainRound(four, round(risesOf(real, ones), said, random));

  test('done as said, with ratios that are 10 % off: hardly ever asked about', () => {
    let asked = 0;
    for (let k = 0; k < 200; k++) {
      const turns = planeTurns(random);
      const factors = ones.map(() => 1 + random.normal(0.1));
      const found = explainRound(four, round(risesOf(turns, factors), turns, random));
      if (!found.some((e) => e.what === 'as said')) asked += 1;
    }
    expect(asked).toBeLessThanOrEqual(2);
  });

  // The weight lies behind the crossing of the diagonals: both rear hangers (2 and 3) always carry, the front ones take turns.
  test('the wrong way', () => {
    expect(explained([2, 2, 2, -2], [2, 2, 2, 2])).toContainEqual({ what: 'wrong way', adjuster: 3 });
    expect(explained([2, 2, -2, 2], [2, 2, 2, 2])).toContainEqual({ what: 'wrong way', adjuster: 2 });
  });

  test('another adjuster in its place', () => {
    expect(explained([0, 0, 0, 3], [0, 0, 3, 0])).toContainEqual({
      what: 'other adjuster',
      adjuster: 2,
      instead: 3,
    });
  });

  test('one that did not move, and a deck that sticks', () => {
    expect(explained([3, 3, 0, 3], [3, 3, 3, 3])).toContainEqual({ what: 'did not move', adjuster: 2 });
    expect(explained([0, 0, 0, 0], [3, 3, 3, 3])).toContainEqual({ what: 'nothing moved' });
  });

  test('a front hanger left low only hangs slack: the deck is where it should be, and it is taken up by feel', () => {
    const said = [3, 3, 3, 3];
    const left = round(risesOf([0, 3, 3, 3], ones), said, random);
    expect(explainRound(four, left)).toEqual([{ what: 'as said' }]);
    expect(left.carrying).toEqual([false, true, true, true]);
  });

  test('what nothing explains is said so: no explanation', () => {
    expect(explained([9, 9, 9, 9], done)).toEqual([]);
  });
});
