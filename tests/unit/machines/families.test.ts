/** What contradicts the family of a machine: each broken variant of a profile ends in 303 and names what is wrong. */
import { describe, expect, test } from 'vitest';
import { loadProfile, parseProfile } from '../../../host/machines/load';
import type { MachineProfile } from '../../../host/machines/profile';
import { refusal } from '../../refusal';

type Loose<T> = { -readonly [K in keyof T]: T[K] extends object ? Loose<T[K]> : T[K] };
type Draft = Loose<MachineProfile>;
type Break = (draft: Draft) => void;

describe('303, what a family does not allow', () => {
  const rod = 'dunfallow-116';
  const floating = 'wexcarrow-183';
  const front = 'hobthrush-150';
  const walked = 'larkpenny-51';
  const timed = 'cressidine-93';
  test.each<[string, string, Break, string]>([
    [
      'a hung deck on a wheel',
      'quellbeck-133',
      (p) => (p.hangers[0].kind = 'stands'),
      "hangers: 'front left' stands, but everything hangs in the family 'mid-mount hung'",
    ],
    [
      'a front rod on a chain',
      rod,
      (p) => (p.hangers[0].kind = 'hangs'),
      "hangers: 'front rod' is the foremost, and the front rod holds both ways",
    ],
    [
      'a front rod of one ratio',
      rod,
      (p) => delete p.adjusters[0].moves[0].atHeights,
      "the front rod's ratio depends on the height setting, so it needs atHeights",
    ],
    [
      'a ratio that its table denies',
      rod,
      (p) => (p.adjusters[0].moves[0].mmPerTurn = 2.6),
      "adjusters[0] 'front rod': mmPerTurn of 'front rod' is 2.6, but atHeights gives 2.45 at 70 mm",
    ],
    [
      'a ratio table that ends too soon',
      rod,
      (p) => p.adjusters[0].moves[0].atHeights?.splice(1, 2, { cutHeightMm: 60, mmPerTurn: 2.3 }),
      "atHeights of 'front rod' does not reach the cut height of 70 mm",
    ],
    [
      'a floating deck without wheels',
      floating,
      (p) => (p.hangers[0].kind = 'hangs'),
      'hangers: fewer than two stand, but gauge wheels carry this family',
    ],
    [
      'arms ahead of the deck',
      front,
      (p) => [p.hangers[0], p.hangers[1]].forEach((h) => (h.xMm = 1900)),
      "the carrier's arms reach the deck from behind its own wheels",
    ],
    [
      'four rods',
      front,
      (p) => p.hangers.forEach((h) => (h.kind = 'holds')),
      'hangers: 4 of them hold both ways; more than three would bend the deck',
    ],
    [
      'a deck that lifts its wheels',
      front,
      (p) => (p.centreOfGravity.xMm = 700),
      'centreOfGravity: (700, -18) lies outside the hangers',
    ],
    [
      'a shell that stands beside its wheels',
      walked,
      (p) => (p.hangers[0].xMm = 600),
      "hangers: 'front left' stands where wheels names no wheel",
    ],
    [
      'loads of no sum',
      walked,
      (p) => (p.wheels[0].loadShare = 0.5),
      'wheels: the load shares add up to 1.300, not to 1',
    ],
    [
      'a load left out',
      walked,
      (p) => delete p.wheels[2].loadShare,
      'wheels: some carry a loadShare and some do not',
    ],
    [
      'a cross of one blade',
      walked,
      (p) => delete p.spindles[1].stackedOn,
      "bladeKind: 'stacked cross' has two blades on a spindle",
    ],
    [
      'a cross beside its spindle',
      walked,
      (p) => (p.spindles[1].xMm = 340),
      "spindles[1] 'upper': is stacked on 'lower' but 30 mm beside it",
    ],
    [
      'blades that only timing keeps apart',
      timed,
      (p) => delete p.timedDeck,
      "spindles: the blade circles of 'left' and 'right' collide",
    ],
  ])('%s', (_what, machine, change, named) => {
    const draft: Draft = structuredClone(loadProfile(machine));
    change(draft);
    const error = refusal(() => parseProfile(JSON.stringify(draft), 'shed.json'));
    expect(error.number).toBe(303);
    expect(error.message).toContain(named);
  });

  test('a weight behind the rear supports is held where a rod pulls down, and only there', () => {
    const draft: Draft = structuredClone(loadProfile(rod));
    draft.centreOfGravity.xMm = 300;
    expect(parseProfile(JSON.stringify(draft), 'p').centreOfGravity.xMm).toBe(300);
  });
});
