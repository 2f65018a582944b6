/** A machine while it is being typed. Geometry by hand from the dimensions themselves. */
import { expect, it } from 'vitest';
import { draftMachine } from '../../../host/machines/draft';
import { machineFromTape } from '../../../host/machines/from-tape';
import { TARNBECK_90 } from './tarnbeck';

it('is the machine that the same dimensions make on the command line', () => {
  expect(draftMachine(TARNBECK_90)).toEqual({
    profile: machineFromTape(TARNBECK_90),
    isComplete: true,
    faults: [],
  });
});

it('draws what is typed while the rest is missing, and says what is missing beside its field', () => {
  const { bladeLengthMm: _, model: __, ...rest } = TARNBECK_90;
  const { profile, isComplete, faults } = draftMachine(rest);
  expect(isComplete).toBe(false);
  expect(faults.map((f) => [f.field, f.number])).toEqual(
    expect.arrayContaining([
      ['model', 306],
      ['bladeLengthMm', 306],
    ]),
  );
  expect(faults).toHaveLength(2);
  expect(faults[0]?.text).toBe('expected a text, found nothing');
  // Two spindles 440 mm apart about the middle line.
  expect(profile?.spindles.map((s) => s.yMm)).toEqual([220, -220]);
});

it('draws something from nothing, for every number of blades', () => {
  for (const blades of [undefined, 1, 2, 3, 4, 5])
    expect(draftMachine(blades === undefined ? {} : { blades }).profile?.spindles.length).toBe(blades ?? 2);
  for (const typed of [{ spacingMm: 300 }, { bladeLengthMm: 700 }, { bladeLengthMm: 250, blades: 5 }])
    expect(draftMachine(typed).profile).toBeDefined();
});

it('says what contradicts itself beside the field to look at', () => {
  const collide = draftMachine({ ...TARNBECK_90, spacingMm: 300, staggerMm: 0 });
  expect(collide).toMatchObject({ isComplete: false, faults: [{ field: 'spacingMm', number: 303 }] });
  expect(collide.faults[0]?.text).toContain('collide');
  expect(draftMachine({ ...TARNBECK_90, cutHeightMm: 500 }).faults).toEqual([
    { field: 'cutHeightMm', number: 306, text: 'expected at most 150, found 500' },
  ]);
});
