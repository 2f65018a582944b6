/** Broken variants of the real profiles: each ends in its number, names the file and the field, and says the next step. */
import { describe, expect, test } from 'vitest';
import { NumberedError } from '../../../host/errors/errors';
import { listProfiles, loadProfile, parseProfile } from '../../../host/machines/load';
import type { MachineProfile } from '../../../host/machines/profile';
import { refusal } from '../../refusal';

type Loose<T> = { -readonly [K in keyof T]: T[K] extends object ? Loose<T[K]> : T[K] };
type Draft = Loose<MachineProfile>;
type Break = (draft: Draft) => void;

const three = loadProfile('quellbeck-133');

/** The refusal of the three-spindle profile after `change`. */
function broken(change: Break): NumberedError {
  const draft = structuredClone(three);
  change(draft);
  return refusal(() => parseProfile(JSON.stringify(draft), 'shed.json'));
}

const FOR_FAMILIES = ['kind', 'atHeights', 'loadShare', 'stackedOn', 'timedDeck', 'timedOffsetDeg'];
const OPTIONAL = [...FOR_FAMILIES, 'passOverlapMm', 'skirt', 'uncertaintyMm'];

/** Number of the refusal; undefined when nothing is refused. */
function numberOf(work: () => unknown): number | undefined {
  try {
    work();
    return undefined;
  } catch (error) {
    return error instanceof NumberedError ? error.number : NaN;
  }
}

/** Reaches where the types do not. */
const loose = (draft: Draft) => draft as unknown as Record<string, Record<string, unknown>[]>;

describe('301, not JSON: line and column', () => {
  test.each([
    ['a comma too many', '{\n  "a": 1,\n}', 'line 3, column 1: expected a field name'],
    ['a comma missing', '{"a": 1\n "b": 2}', "line 2, column 2: expected ',' or '}'"],
    ['a colon missing', '{"a" 1}', "line 1, column 6: expected ':'"],
    ['an open string', '{"a": "b\n}', 'line 1, column 7: expected a string that ends on its line'],
    ['an open list', '{"a": [1, 2', "line 1, column 12: expected ',' or ']'"],
    ['a bare word', '{"a": clockwise}', 'line 1, column 7: expected a value'],
    ['a number with a comma', '{"a": 1,5}', 'line 1, column 9: expected a field name'],
    ['more after the end', '{}\n{}', 'line 2, column 1: expected the end of the file'],
    ['an empty file', '', 'line 1, column 1: expected a value'],
    ['a field that stands twice', '{"xMm": 1,\n "xMm": 2}', 'line 2, column 2: expected each field once'],
    ['very deep nesting', '['.repeat(100_000), 'expected no more than 100 levels'],
  ])('%s', (_what, text, named) => {
    const error = refusal(() => parseProfile(text, 'shed.json'));
    expect(error.number).toBe(301);
    expect(error.message).toContain(`shed.json, ${named.startsWith('line') ? named : ''}`);
    expect(error.message).toContain(named);
    expect(error.nextStep).toContain('place named');
  });

  test('every cut-off copy of every profile is refused, and never by another error', () => {
    for (const profile of listProfiles()) {
      const text = JSON.stringify(profile);
      for (let length = 0; length < text.length; length += 19) {
        expect(refusal(() => parseProfile(text.slice(0, length), 'cut.json')).number).toBe(301);
      }
    }
  });

  test('a byte order mark, as some editors write it, is no fault', () => {
    expect(parseProfile(`\ufeff${JSON.stringify(three)}`, 'shed.json')).toEqual(three);
  });
});

describe('302, missing or of the wrong form: path, expected, found', () => {
  test.each<[string, Break, string]>([
    ['a field missing', (p) => delete loose(p)['hangers'], 'hangers: expected a list, found nothing'],
    [
      'a text for a number',
      (p) => (loose(p)['spindles'][1]['xMm'] = '780'),
      "spindles[1].xMm: expected a number, found '780'",
    ],
    [
      'a radius of centimetres',
      (p) => (p.spindles[0].tipRadiusMm = 23),
      'spindles[0].tipRadiusMm: expected at least 100, found 23',
    ],
    [
      'an unknown rotation',
      (p) => (loose(p)['spindles'][2]['rotation'] = 'left'),
      "spindles[2].rotation: expected 'clockwise' or 'counter-clockwise', found 'left'",
    ],
    [
      'an unknown family',
      (p) => (loose(p)['family'] = 'hovering' as never),
      "family: expected 'mid-mount hung' or 'front rod with rear lift arms' or 'floating with gauge wheels' or 'out-front' or 'walk-behind' or 'stand-on', found 'hovering'",
    ],
    [
      'a newer format',
      (p) => (loose(p)['format'] = 'swathplane-machine/2' as never),
      "format: expected 'swathplane-machine/1', found 'swathplane-machine/2'",
    ],
    [
      'too few wheels',
      (p) => p.wheels.splice(0, 2),
      'wheels: expected at least 3 entries, found a list of 2',
    ],
    [
      'an adjuster without hanger',
      (p) => p.adjusters[0].moves.splice(0),
      'adjusters[0].moves: expected at least 1 entries, found a list of 0',
    ],
    [
      'a ratio of nothing',
      (p) => (p.adjusters[1].moves[0].mmPerTurn = 0),
      'adjusters[1].moves[0].mmPerTurn: expected more than 0, found 0',
    ],
    [
      'a heading beyond half a turn',
      (p) => (loose(p)['measures'][0]['terms'] = [{ spindle: 'left', headingDeg: 270, weight: 1 }]),
      'measures[0].terms[0].headingDeg: expected at most 180, found 270',
    ],
    [
      'an unknown kind of measure',
      (p) => (loose(p)['measures'][0]['what'] = 'sag'),
      "measures[0].what: expected 'tips' or 'bend', found 'sag'",
    ],
    [
      'a field that is none',
      (p) => (loose(p)['hangers'][0]['zMm'] = 3),
      'hangers[0].zMm: not a field of a profile',
    ],
    [
      'half an arc',
      (p) => ((p.spindles[0].blockedArcsDeg as unknown[]) = [[1]]),
      'spindles[0].blockedArcsDeg[0]: expected at least 2 entries, found a list of 1',
    ],
    [
      'an id with blanks',
      (p) => (p.preparation[0].id = 'Tyres same'),
      "preparation[0].id: expected small letters, digits and hyphens, found 'Tyres same'",
    ],
    ['no name', (p) => (p.model = ''), "model: expected at least 1 characters, found ''"],
  ])('%s', (_what, change, named) => {
    const error = broken(change);
    expect(error.number).toBe(302);
    expect(error.message).toContain(named);
  });

  test('all fields at fault are named at once', () => {
    const error = broken((p) => {
      delete loose(p)['wheels'];
      p.spindles[0].tipRadiusMm = -1;
      p.adjusters[3].stepTurns = 2;
    });
    for (const field of ['wheels:', 'spindles[0].tipRadiusMm:', 'adjusters[3].stepTurns:'])
      expect(error.message).toContain(field);
  });

  test('every field of every profile is needed, apart from the optional ones', () => {
    for (const profile of listProfiles()) {
      for (const path of fieldPaths(profile)) {
        const draft = structuredClone(profile) as Record<string, unknown>;
        const owner = path.slice(0, -1).reduce((at, key) => at[key] as Record<string, unknown>, draft);
        const last = path.at(-1) as string;
        delete owner[last];
        const optional =
          (path[0] === 'adjusters' && last === 'source') ||
          (path[0] === 'preparation' && ['number', 'gate'].includes(last)) ||
          OPTIONAL.includes(last);
        const parse = () => parseProfile(JSON.stringify(draft), 'p');
        if (!optional) expect(refusal(parse).number, path.join('.')).toBe(302);
        // Some are optional in form, but a family cannot do without.
        else if (FOR_FAMILIES.includes(last)) expect([undefined, 303]).toContain(numberOf(parse));
        else expect(parse).not.toThrow();
      }
    }
  });

  test.each(['[]', '7', 'null', '"a"'])('a file that is no object: %s', (text) => {
    expect(refusal(() => parseProfile(text, 'shed.json')).number).toBe(302);
  });
});

describe('303, statements that cannot all be true', () => {
  test.each<[string, Break, string]>([
    ['two spindles of one name', (p) => (p.spindles[1].name = 'left'), "spindles: 'left' stands twice"],
    [
      'two preparation items of one id',
      (p) => (p.preparation[1].id = p.preparation[0].id),
      "preparation: 'tyres-same' stands twice",
    ],
    [
      'left and right exchanged',
      (p) => p.hangers.slice(0, 2).forEach((h) => (h.yMm = -h.yMm)),
      "hangers: 'front left' lies no further left than 'front right'",
    ],
    [
      'front behind rear',
      (p) => p.wheels.slice(0, 2).forEach((w) => (w.xMm = -w.xMm)),
      "wheels: 'front left' lies no further forward than 'rear left'",
    ],
    [
      'three wheels out of four',
      (p) => (p.groundPlane = 'three wheels'),
      "groundPlane: 'three wheels' wants 3 wheels, but wheels names 4",
    ],
    ['four wheels on one line', (p) => p.wheels.forEach((w) => (w.xMm = 0)), 'wheels: all stand on one line'],
    [
      'an origin elsewhere',
      (p) => p.wheels.forEach((w) => (w.xMm += 50)),
      'wheels: the origin lies midway between the drive wheels',
    ],
    [
      'a pivoting axle that is none',
      (p) => ((p.groundPlane = 'pivoting front axle'), (p.wheels[0].xMm += 40)),
      'are the foremost but are no axle',
    ],
    [
      'a wheel under a blade',
      (p) => ((p.wheels[0].xMm = 700), (p.wheels[0].yMm = 400)),
      "wheels: 'front left' stands inside the blade circle of spindle 'left'",
    ],
    [
      'colliding blades',
      (p) => (p.spindles[1].xMm = 700),
      "spindles: the blade circles of 'left' and 'centre' collide",
    ],
    [
      'an uncut strip',
      (p) => (p.spindles[1].tipRadiusMm = 200),
      "spindles: 'right' and 'centre' leave a strip of 5 mm uncut",
    ],
    [
      'an arc of no width',
      (p) => (p.spindles[0].blockedArcsDeg = [[30, 30]]),
      "spindles[0] 'left': a blocked arc begins and ends at 30",
    ],
    ['hangers on one line', (p) => p.hangers.forEach((h) => (h.xMm = 600)), 'hangers: all lie on one line'],
    [
      'a deck that tips over',
      (p) => (p.centreOfGravity.xMm = 950),
      'centreOfGravity: (950, 18) lies outside the hangers',
    ],
    [
      'a hanger that nothing moves',
      (p) => p.adjusters.splice(1, 1),
      "hangers: no adjuster moves 'front right'",
    ],
    [
      'an adjuster of a hanger that is none',
      (p) => (p.adjusters[0].moves[0].hanger = 'middle'),
      "adjusters[0] 'front left': moves the hanger 'middle', which hangers does not name",
    ],
    [
      'a hanger moved twice',
      (p) => p.adjusters[0].moves.push({ hanger: 'front left', mmPerTurn: 1 }),
      "adjusters[0] 'front left'.moves: 'front left' stands twice",
    ],
    [
      'no travel',
      (p) => (p.adjusters[2].travelTurns = [0, 0]),
      "adjusters[2] 'rear left': its travel of 0 turns is less than one step",
    ],
    [
      'limits upside down',
      (p) => (p.measures[0].lowerMm = 4),
      "measures[0] 'level': lowerMm 4 is not below upperMm 3",
    ],
    [
      'a target outside its limits',
      (p) => (p.measures[1].targetMm = 9),
      "measures[1] 'rake': targetMm 9 lies outside its limits 2 to 8",
    ],
    [
      'a measure of a spindle that is none',
      (p) => (p.measures[3] = { ...p.measures[3], spindle: 'middle' } as Draft['measures'][number]),
      "measures[3] 'bend left': spindle 'middle' is not one of spindles",
    ],
    [
      'weights of no sum',
      (p) => (terms(p, 1)[0].weight = 0.8),
      "measures[1] 'rake': its weights add up to 0.3, not to 0 (a difference) or 1 (a height)",
    ],
    [
      'a wrong span',
      (p) => (loose(p)['measures'][0]['spanMm'] = 1000),
      "measures[0] 'level': spanMm is 1000, but its tips lie 1330 mm apart",
    ],
    [
      'a height with a span',
      (p) => (loose(p)['measures'][2]['spanMm'] = 10),
      "measures[2] 'cut height': spanMm is 10, but a height has the span 0",
    ],
    [
      'a tip named twice',
      (p) => terms(p, 1).push({ ...terms(p, 1)[0], headingDeg: -180, weight: 0 }),
      "measures[1] 'rake': names the tip 'left' at -180 degrees twice",
    ],
    [
      'a tip that cannot be reached',
      (p) => (p.spindles[1].blockedArcsDeg = [[-20, 20]]),
      "measures[1] 'rake': wants the tip 'centre' at 0 degrees, which the blocked arc -20 to 20 forbids",
    ],
    [
      'an arc over the rear',
      (p) => (p.spindles[0].blockedArcsDeg = [[170, -170]]),
      "wants the tip 'left' at 180 degrees, which the blocked arc 170 to -170 forbids",
    ],
    [
      'another cut height than measured',
      (p) => (p.cutHeightMm = 90),
      "cutHeightMm: 90 lies outside the limits of 'cut height'",
    ],
    [
      'preparation limits upside down',
      (p) => (p.preparation[1].number = { unit: 'kPa', lower: 90, upper: 80 }),
      "preparation[1] 'tyre-front-left': lower 90 is not below upper 80",
    ],
  ])('%s', (_what, change, named) => {
    const error = broken(change);
    expect(error.number).toBe(303);
    expect(error.message).toContain('shed.json: ');
    expect(error.message).toContain(named);
  });

  test('all contradictions are named at once', () => {
    const error = broken((p) => {
      p.centreOfGravity.xMm = 950;
      p.cutHeightMm = 90;
      p.measures[0].lowerMm = 4;
    });
    for (const field of ['centreOfGravity:', 'cutHeightMm:', 'measures[0]'])
      expect(error.message).toContain(field);
  });
});

describe('304 and 305', () => {
  test('swing blades are refused with the reason, even when more is wrong', () => {
    const error = broken((p) => {
      p.bladeKind = 'swing';
      delete loose(p)['hangers'];
    });
    expect(error.number).toBe(304);
    expect(error.message).toContain('no fixed height');
  });

  test.each(['no-such-machine', 'host/machines', ''])('no machine and no file is called %j', (name) => {
    const error = refusal(() => loadProfile(name));
    expect(error.number).toBe(305);
    expect(error.nextStep).toContain('swathplane machines');
  });
});

function terms(p: Draft, i: number): { spindle: string; headingDeg: number; weight: number }[] {
  const measure = p.measures[i];
  if (measure?.what !== 'tips') throw new Error(`measures[${i}] is no measure of tips`);
  return measure.terms;
}

/** Paths of all fields of objects, lists walked through. */
function fieldPaths(value: unknown, path: string[] = []): string[][] {
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => {
    const here = [...path, key];
    return Array.isArray(value) ? fieldPaths(inner, here) : [here, ...fieldPaths(inner, here)];
  });
}
