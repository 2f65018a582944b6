/** Machines known from five things taken with a tape: geometry by hand, every layout of one to five spindles, and what is refused. */
import Ajv from 'ajv';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import {
  machineFromTape,
  parseTape,
  tapeJsonSchema,
  type TapeDimensions,
} from '../../../host/machines/from-tape';
import { loadProfile, parseProfile } from '../../../host/machines/load';
import { FAMILIES } from '../../../host/machines/profile';
import { tipSums } from './tip-sums';
import { refusal } from '../../refusal';

/** An invented three-blade machine, as a tape would find Quellbeck 133. */
const THREE: TapeDimensions = {
  model: 'Unseen 133',
  family: 'mid-mount hung',
  blades: 3,
  bladeLengthMm: 460,
  spacingMm: 435,
  staggerMm: 180,
  wheelbaseMm: 1300,
  frontTrackMm: 840,
  rearTrackMm: 960,
  rotation: 'clockwise',
  cutHeightMm: 75,
};

const refused = (given: object) => refusal(() => machineFromTape(given as TapeDimensions, 'tape.json'));

describe('a profile from a tape', () => {
  test('is, where the tape reached, the machine that the maker drew', () => {
    const drawn = loadProfile('quellbeck-133');
    const taped = machineFromTape({ ...THREE, groundPlane: 'rigid four wheels', deckAheadMm: 690 });
    const bare = (list: readonly object[]) => list.map((s) => ({ ...s, blockedArcsDeg: [] }));
    expect(taped.spindles).toEqual(bare(drawn.spindles));
    expect(taped.wheels).toEqual(drawn.wheels);
    expect(taped.measures).toEqual(drawn.measures);
    expect(taped.groundPlane).toBe(drawn.groundPlane);
  });

  test('states what the tape leaves open, by hand', () => {
    // 10 mm in each spacing: the outer of three spindles is off by one spacing, of five by two; half of a blade's 10 mm.
    expect(machineFromTape(THREE).uncertaintyMm).toEqual({
      spindleMm: 10,
      tipRadiusMm: 5,
      wheelMm: 10,
      hangerMm: 80,
    });
    const five = machineFromTape({ ...THREE, blades: 5, uncertaintyMm: 4 });
    expect(five.uncertaintyMm).toEqual({ spindleMm: 8, tipRadiusMm: 2, wheelMm: 4, hangerMm: 80 });
    const each = { bladeLengthMm: 2, spacingMm: 3, staggerMm: 20, wheelbaseMm: 6, trackMm: 30 };
    expect(machineFromTape({ ...THREE, uncertaintyMm: each }).uncertaintyMm).toEqual({
      spindleMm: 10,
      tipRadiusMm: 1,
      wheelMm: 15,
      hangerMm: 80,
    });
  });

  test('asks for a trial turn before any ratio is used, and is nobody’s invention', () => {
    const { adjusters, invented } = machineFromTape(THREE);
    // The procedure takes a ratio known no better than 30 % for unknown.
    expect(adjusters.every((a) => a.ratioUncertainty > 0.3)).toBe(true);
    expect(invented).toBe(false);
  });

  test('one front wheel makes three wheels; blades may turn each their own way', () => {
    const one = machineFromTape({ ...THREE, frontTrackMm: 0 });
    expect(one.groundPlane).toBe('three wheels');
    expect(one.wheels.map((w) => [w.xMm, w.yMm])).toEqual([
      [1300, 0],
      [0, 480],
      [0, -480],
    ]);
    const rotation = ['counter-clockwise', 'clockwise', 'clockwise'] as const;
    const turning = machineFromTape({ ...THREE, rotation: [...rotation] });
    expect(turning.spindles.map((s) => s.rotation)).toEqual(rotation);
  });

  test('limits are the shop’s, inside what the trade calls level (from memory, no source)', () => {
    const file = new URL('../../reference/data/08-mower-levelling-practice.json', import.meta.url);
    const { facts } = (
      JSON.parse(readFileSync(file, 'utf8')) as { expected: { facts: Record<string, number>[] } }
    ).expected;
    const [rakeFact, levelFact, bendFact] = facts;
    const { measures } = machineFromTape(THREE);
    const named = (name: string) => measures.find((m) => m.name === name);
    expect(named('rake')?.targetMm).toBeGreaterThan(rakeFact?.['low_mm'] ?? NaN);
    expect(named('rake')?.targetMm).toBeLessThan(rakeFact?.['high_mm'] ?? NaN);
    expect(named('level')?.upperMm).toBeLessThanOrEqual(levelFact?.['tight_mm'] ?? NaN);
    expect(named('bend left')?.upperMm).toBeLessThanOrEqual(bendFact?.['mm'] ?? NaN);
    expect(measures.every((m) => m.source === 'shop limit')).toBe(true);
  });
});

const LAYOUTS = [1, 2, 3, 4, 5].flatMap((blades) =>
  [-150, 0, 150].map(
    (staggerMm) =>
      [
        blades,
        staggerMm,
        machineFromTape({ ...THREE, blades, staggerMm, spacingMm: staggerMm === 0 ? 460 : 436 }),
      ] as const,
  ),
);

describe.each(LAYOUTS)('%i blades, every second one %i mm ahead', (blades, staggerMm, profile) => {
  test('level sees no rake, rake sees no level, and each counts a slope over its span', () => {
    const [level, rake] = profile.measures;
    if (level?.what !== 'tips' || rake?.what !== 'tips') throw new Error('level and rake come first');
    const spanMm = { level: (blades - 1) * (staggerMm === 0 ? 460 : 436) + 460 };
    expect(tipSums(profile, 'level')).toEqual([0, expect.closeTo(0, 6), expect.closeTo(spanMm.level, 6)]);
    const [sum, forwardMm, leftMm] = tipSums(profile, 'rake');
    expect(sum).toBeCloseTo(0, 12);
    expect(leftMm).toBeCloseTo(0, 6);
    expect(-forwardMm).toBeCloseTo(rake.spanMm, 2);
    expect(rake.spanMm).toBeGreaterThanOrEqual(460);
  });

  test('cut height is the foremost tip; its text is read back as the same machine', () => {
    const foremostMm = Math.max(...profile.spindles.map((s) => s.xMm + s.tipRadiusMm));
    expect(tipSums(profile, 'cut height').slice(0, 2)).toEqual([1, expect.closeTo(foremostMm, 9)]);
    expect(parseProfile(JSON.stringify(profile), 'copy')).toEqual(profile);
  });
});

test.each(FAMILIES)('every family: %s', (family) => {
  const profile = machineFromTape({ ...THREE, family, wheelbaseMm: 1900 });
  expect(profile.preparation.length).toBeGreaterThan(5);
  expect(parseProfile(JSON.stringify(profile), 'copy')).toEqual(profile);
});

describe('refused', () => {
  test.each<[string, object, string]>([
    ['no blades', { blades: 0 }, 'blades: expected at least 1, found 0'],
    ['half a blade', { blades: 2.5 }, 'blades: expected'],
    ['six blades', { blades: 6 }, 'blades: expected at most 5, found 6'],
    ['no spacing', { spacingMm: undefined }, 'spacingMm: expected the distance from spindle to spindle'],
    ['a text for a number', { bladeLengthMm: '460' }, "bladeLengthMm: expected a number, found '460'"],
    [
      'two rotations for three blades',
      { rotation: ['clockwise', 'clockwise'] },
      'rotation: expected one rotation',
    ],
    ['swing blades', { bladeKind: 'swing' }, "bladeKind: expected 'straight' or 'dropped tip' or 'mulching'"],
    ['an unknown field', { colour: 'green' }, 'colour: not a field of these dimensions'],
    ['a tape to half a metre', { uncertaintyMm: 500 }, 'uncertaintyMm'],
  ])('306, %s', (_what, change, named) => {
    const error = refused({ ...THREE, ...change });
    expect(error.number).toBe(306);
    expect(error.message).toContain(named);
    expect(error.message).toContain('tape.json');
  });

  test.each<[string, object, string]>([
    ['blades that hit one another', { spacingMm: 380 }, "the blade circles of 'left' and 'centre' collide"],
    ['blades that leave grass', { spacingMm: 520, staggerMm: 0 }, 'leave a strip of 60 mm uncut'],
    ['a wheel in a blade circle', { wheelbaseMm: 500 }, 'stands inside the blade circle'],
  ])('303, %s beyond what the tape is uncertain', (_what, change, named) => {
    const error = refused({ ...THREE, ...change });
    expect(error.number).toBe(303);
    expect(error.message).toContain(named);
  });

  test('what lies within the tape’s uncertainty is not called a contradiction', () => {
    // 450.8 mm between spindles of 460 mm blades: 9 mm too near, with 10 mm in every dimension.
    expect(machineFromTape({ ...THREE, spacingMm: 413 }).model).toBe('Unseen 133');
    expect(refused({ ...THREE, spacingMm: 413, uncertaintyMm: 1 }).number).toBe(303);
  });

  test('301, a file that is no JSON', () => {
    expect(() => parseTape('{"blades": 3,}', 'tape.json')).toThrow(/E301.*tape.json, line 1, column 14/);
  });
});

test('the form is published as JSON schema, and a general validator agrees with it', () => {
  const fits = new Ajv({ strict: false }).compile(tapeJsonSchema());
  expect(fits(THREE), JSON.stringify(fits.errors)).toBe(true);
  expect(fits({ ...THREE, blades: 9 })).toBe(false);
  expect(fits({ ...THREE, wheelbaseMm: undefined })).toBe(false);
});
