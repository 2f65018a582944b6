/** The resting deck against the simulation's brute force over support triples, which shares no code with it. */
import { expect, test } from 'vitest';
import { restDeck } from '../../../protocol/solver';
import { restOnHangers } from '../../../host/simulation/statics';
import { seededRandom } from '../../../host/simulation/random';

test('10,000 random decks on three to six hangers', () => {
  const random = seededRandom(4);
  let tipping = 0;
  let slack = 0;
  let worst = 0;
  for (let deck = 0; deck < 10_000; deck++) {
    const count = 3 + Math.floor(random.uniform() * 4);
    const hangers = Array.from({ length: count }, () => ({
      xMm: random.between(0, 1000),
      yMm: random.between(-500, 500),
    }));
    const heights = hangers.map(() => 80 + random.normal(4));
    const centre = { xMm: random.between(200, 800), yMm: random.between(-300, 300) };
    const found = restDeck(hangers, heights, centre);
    let expected;
    try {
      expected = restOnHangers(hangers, heights, centre);
    } catch {
      expect(found).toBeUndefined();
      tipping += 1;
      continue;
    }
    if (found === undefined) throw new Error('no rest where the simulation finds one');
    for (const { xMm, yMm } of [...hangers, centre]) {
      const mine = found.z0Mm + found.slopeX * xMm + found.slopeY * yMm;
      const theirs = expected.z0Mm + expected.slopeX * xMm + expected.slopeY * yMm;
      worst = Math.max(worst, Math.abs(mine - theirs) / Math.max(1, Math.abs(theirs) / 100));
    }
    for (let i = 0; i < count; i++) {
      expect(Math.abs(found.slackMm[i] - expected.slackMm[i])).toBeLessThan(1e-5);
      if (Math.abs(expected.slackMm[i]) > 1e-5) {
        expect(found.carrying[i]).toBe(false);
        slack += 1;
      }
    }
    expect(found.carrying.filter(Boolean).length).toBeGreaterThanOrEqual(3);
  }
  expect(worst).toBeLessThan(1e-6);
  // The comparison means something only if all three kinds were met.
  expect(tipping).toBeGreaterThan(500);
  expect(slack).toBeGreaterThan(5000);
});

test('four hangers in one plane all touch', () => {
  const hangers = [
    { xMm: 900, yMm: 300 },
    { xMm: 900, yMm: -300 },
    { xMm: 300, yMm: 300 },
    { xMm: 300, yMm: -300 },
  ];
  const rest = restDeck(hangers, [70, 71, 75, 76], { xMm: 600, yMm: 0 });
  expect(rest?.carrying).toEqual([true, true, true, true]);
  expect(rest?.slopeX).toBeCloseTo(-5 / 600, 12);
  expect(rest?.slopeY).toBeCloseTo(-1 / 600, 12);
});

test('a centre of gravity outside the hangers, and hangers in one line, carry nothing', () => {
  const triangle = [
    { xMm: 0, yMm: 0 },
    { xMm: 100, yMm: 0 },
    { xMm: 0, yMm: 100 },
  ];
  expect(restDeck(triangle, [1, 2, 3], { xMm: 80, yMm: 80 })).toBeUndefined();
  const line = triangle.map((_, i) => ({ xMm: 100 * i, yMm: 0 }));
  expect(restDeck(line, [1, 2, 3], { xMm: 100, yMm: 50 })).toBeUndefined();
});
