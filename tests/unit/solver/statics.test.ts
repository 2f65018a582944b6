/** The resting deck against the simulation's brute force over support triples, which shares no code with it. */
import { expect, test } from 'vitest';
import { restDeck, type SupportKind } from '../../../protocol/solver';
import { restOnSupports } from '../../../host/simulation/statics';
import { seededRandom, type Random } from '../../../host/simulation/random';

/** Compares with the simulation on random decks; counts how many tip and how many supports are slack or pull down. */
function compareDecks(decks: number, seed: number, kindOf: (random: Random) => SupportKind | undefined) {
  const random = seededRandom(seed);
  const met = { tipping: 0, slack: 0, pulling: 0 };
  let worst = 0;
  for (let deck = 0; deck < decks; deck++) {
    const count = 3 + Math.floor(random.uniform() * 4);
    const supports = Array.from({ length: count }, () => ({
      xMm: random.between(0, 1000),
      yMm: random.between(-500, 500),
      kind: kindOf(random),
    }));
    const heights = supports.map(() => 80 + random.normal(4));
    const centre = { xMm: random.between(200, 800), yMm: random.between(-300, 300) };
    const found = restDeck(supports, heights, centre);
    let expected;
    try {
      expected = restOnSupports(supports, heights, centre);
    } catch {
      expect(found).toBeUndefined();
      met.tipping += 1;
      continue;
    }
    if (found === undefined) throw new Error('no rest where the simulation finds one');
    for (const { xMm, yMm } of [...supports, centre]) {
      const mine = found.z0Mm + found.slopeX * xMm + found.slopeY * yMm;
      const theirs = expected.z0Mm + expected.slopeX * xMm + expected.slopeY * yMm;
      worst = Math.max(worst, Math.abs(mine - theirs) / Math.max(1, Math.abs(theirs) / 100));
    }
    for (let i = 0; i < count; i++) {
      expect(Math.abs(found.slackMm[i] - expected.slackMm[i])).toBeLessThan(1e-5);
      if (Math.abs(expected.slackMm[i]) > 1e-5) {
        expect(found.carrying[i]).toBe(false);
        met.slack += 1;
      }
      if (expected.share[i] < 0) met.pulling += 1;
    }
    expect(found.carrying.filter(Boolean).length).toBeGreaterThanOrEqual(3);
  }
  expect(worst).toBeLessThan(1e-6);
  return met;
}

test('10,000 random decks on three to six hangers', () => {
  const { tipping, slack, pulling } = compareDecks(10_000, 4, () => undefined);
  // The comparison means something only if all kinds were met.
  expect(tipping).toBeGreaterThan(500);
  expect(slack).toBeGreaterThan(5000);
  expect(pulling).toBe(0);
});

test('10,000 random decks on chains, wheels and rods that hold both ways', () => {
  const kinds = ['hangs', 'stands', 'hangs', 'holds'] as const;
  const { tipping, slack, pulling } = compareDecks(
    10_000,
    5,
    (random) => kinds[Math.floor(random.uniform() * kinds.length)],
  );
  // Tips over, or four rods that are not in one plane.
  expect(tipping).toBeGreaterThan(500);
  expect(slack).toBeGreaterThan(5000);
  expect(pulling).toBeGreaterThan(1000);
});

test('a rod ahead of the wheels is pulled on when the weight lies behind them', () => {
  const supports = [
    { xMm: 900, yMm: 0, kind: 'holds' },
    { xMm: 400, yMm: 300, kind: 'stands' },
    { xMm: 400, yMm: -300, kind: 'stands' },
  ] as const;
  // By hand: 80 at x 900 and 75 at x 400, rising 1 in 100 forward; the weight at x 300 would tip a deck on a chain.
  const rest = restDeck(supports, [80, 75, 75], { xMm: 300, yMm: 0 });
  expect(rest?.slopeX).toBeCloseTo(0.01, 12);
  expect(rest?.z0Mm).toBeCloseTo(71, 9);
  const hung = supports.map((s) => ({ ...s, kind: 'hangs' as const }));
  expect(restDeck(hung, [80, 75, 75], { xMm: 300, yMm: 0 })).toBeUndefined();
});

test('two arms that hold leave one wheel to carry and lift the other', () => {
  const supports = [
    { xMm: 0, yMm: 300, kind: 'holds' },
    { xMm: 0, yMm: -300, kind: 'holds' },
    { xMm: 500, yMm: 250, kind: 'stands' },
    { xMm: 500, yMm: -250, kind: 'stands' },
  ] as const;
  // By hand: the arms fix 70 at x 0 level across; the wheel with 78 carries, the other hangs 2 mm off the floor.
  const rest = restDeck(supports, [70, 70, 78, 76], { xMm: 300, yMm: -40 });
  expect(rest?.slopeX).toBeCloseTo(8 / 500, 12);
  expect(rest?.slopeY).toBeCloseTo(0, 12);
  expect(rest?.carrying).toEqual([true, true, true, false]);
  expect(rest?.slackMm[3]).toBeCloseTo(2, 9);
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
