/** The machines that come with the tool, against thread tables and geometry that the profiles do not compute themselves. */
import Ajv from 'ajv';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { listProfiles, loadProfile, parseProfile, profileJsonSchema } from '../../../host/machines/load';
import { profileAtHeight } from '../../../host/machines/at-height';
import { FAMILIES } from '../../../host/machines/profile';
import { tipSums } from './tip-sums';

const profiles = listProfiles();
const table = (name: string) =>
  JSON.parse(readFileSync(new URL(`../../reference/data/${name}`, import.meta.url), 'utf8')) as {
    expected: Record<string, Record<string, number | number[]>>;
  };

describe('the machines that come with the tool', () => {
  test('are nine invented ones of six families with one to five spindles', () => {
    expect(profiles.every((p) => p.invented)).toBe(true);
    const spindles = profiles.map((p) => p.spindles.filter((s) => s.stackedOn === undefined).length);
    expect(spindles).toEqual([1, 1, 2, 2, 3, 3, 3, 4, 5]);
    expect(new Set(profiles.map((p) => p.family))).toEqual(new Set(FAMILIES));
  });

  test('change their ratios and limits with the height setting, on straight lines between those given', () => {
    const rod = loadProfile('dunfallow-116');
    const higher = profileAtHeight(rod, 85);
    // By hand: half way from 2.45 at 70 mm to 2.8 at 100 mm; links without a table keep their ratio.
    expect(higher.adjusters.map((a) => a.moves[0]?.mmPerTurn)).toEqual([expect.closeTo(2.625, 12), 1.8, 1.8]);
    expect(higher.measures.map((m) => m.targetMm)).toEqual([0, 5, 85, 0, 0, 0]);
    expect(parseProfile(JSON.stringify(higher), 'higher')).toEqual(higher);
    expect(profileAtHeight(rod, 70)).toBe(rod);
    expect(() => profileAtHeight(rod, 110)).toThrow(/does not reach 110 mm/);
  });

  test('are found by model, by short name and as a file', () => {
    expect(loadProfile('Quellbeck 133')).toEqual(profiles[4]);
    expect(loadProfile('quellbeck-133')).toEqual(profiles[4]);
    expect(loadProfile('host/machines/profiles/quellbeck-133.json')).toEqual(profiles[4]);
  });

  test('fit the published JSON schema, by a general validator, which refuses broken ones', () => {
    const fits = new Ajv().compile(profileJsonSchema());
    for (const profile of profiles) expect(fits(profile), JSON.stringify(fits.errors)).toBe(true);
    const { hangers: _, ...withoutHangers } = profiles[0];
    expect(fits(withoutHangers)).toBe(false);
    expect(fits({ ...profiles[0], wings: 2 })).toBe(false);
  });
});

describe.each(profiles.map((p) => [p.model, p] as const))('%s', (_model, profile) => {
  // Pitches: ISO 261 / ISO 262 and ASME B1.1, as in the data files; 25.4 mm is the inch. The levers are invented.
  test('each adjuster does per turn what its thread and lever give', () => {
    const metric = table('06-threads-iso-metric.json').expected['coarse'];
    const perInch = table('06-threads-unified.json').expected['UNC_tpi'];
    for (const adjuster of profile.adjusters) {
      const said = /^(M\d+|\d+\/\d+)(?: x |-)([\d.]+)(?: UNC)? (nut|turnbuckle), lever ([\d.]+)$/.exec(
        adjuster.source ?? '',
      );
      expect(said, adjuster.source).not.toBeNull();
      const [, size = '', figure, kind, lever] = said ?? [];
      const isMetric = size.startsWith('M');
      expect((isMetric ? metric : perInch)?.[size]).toBe(Number(figure));
      const pitchMm = isMetric ? Number(figure) : 25.4 / Number(figure);
      // A turnbuckle has a right-hand and a left-hand thread: it draws both ends.
      const mmPerTurn = pitchMm * Number(lever) * (kind === 'turnbuckle' ? 2 : 1);
      expect(adjuster.moves.map((move) => move.mmPerTurn)).toEqual([expect.closeTo(mmPerTurn, 9)]);
      // One flat of a hexagon is one sixth of a turn (geometry).
      expect(adjuster.stepTurns).toBeCloseTo(1 / 6, 12);
      expect(adjuster.ratioUncertainty).toBe(0.03);
    }
  });

  test('level sees no rake, rake sees no level, and each counts a slope over its span', () => {
    const slopes = (name: string, slopeX: number, slopeY: number) => {
      const [, forwardMm, leftMm] = tipSums(profile, name);
      return slopeX * forwardMm + slopeY * leftMm;
    };
    const spanOf = (name: string) => profile.measures.find((m) => m.name === name && m.what === 'tips');
    const level = spanOf('level');
    const rake = spanOf('rake');
    if (level?.what !== 'tips' || rake?.what !== 'tips') throw new Error('level or rake is missing');
    // Left tip up, as seated, is positive; the front lower than the rear is positive (x forward, y left).
    expect(slopes('level', 0, 0.01)).toBeCloseTo(0.01 * level.spanMm, 6);
    expect(slopes('level', 0.01, 0)).toBeCloseTo(0, 6);
    expect(slopes('rake', -0.01, 0)).toBeCloseTo(0.01 * rake.spanMm, 6);
    expect(slopes('rake', 0, 0.01)).toBeCloseTo(0, 6);
    // Common practice, no source: 3 to 6 mm lower in front; level and bend within 3 mm.
    expect([rake.lowerMm, rake.targetMm, rake.upperMm]).toEqual([2, 5, 8]);
    expect([level.lowerMm, level.targetMm, level.upperMm]).toEqual([-3, 0, 3]);
    expect(profile.measures.every((m) => m.source === 'shop limit')).toBe(true);
  });

  test('cut height is the foremost tip, and every blade’s bend is limited', () => {
    const foremostMm = Math.max(...profile.spindles.map((s) => s.xMm + s.tipRadiusMm));
    expect(tipSums(profile, 'cut height')[1]).toBeCloseTo(foremostMm, 9);
    const bends = profile.measures.flatMap((m) => (m.what === 'bend' ? [m.spindle] : []));
    expect(bends).toEqual(profile.spindles.map((s) => s.name));
  });

  test('is read back from its own text', () => {
    expect(parseProfile(JSON.stringify(profile), 'copy')).toEqual(profile);
  });
});
