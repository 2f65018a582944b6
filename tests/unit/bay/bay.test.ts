/** The bay: its file, its survey, wheel plane and shims, casters, expiry, and what a job on it shows. */
import { describe, expect, test } from 'vitest';
import type { Bay } from '../../../host/bay/bay';
import { casterSwing } from '../../../host/bay/caster-swing';
import { bayLine, floorOfJob } from '../../../host/bay/known-floor';
import { parseBay } from '../../../host/bay/load';
import { surveyResult, surveyState } from '../../../host/bay/survey';
import { wheelPlane } from '../../../host/bay/wheel-plane';
import { refusal } from '../../refusal';

/** Invented: four wheel spots and two grid points, each read from two set-ups; heights known. */
const points = [
  { name: 'left rear', xMm: 0, yMm: 450, wheel: true },
  { name: 'right rear', xMm: 0, yMm: -450, wheel: true },
  { name: 'left front', xMm: 1200, yMm: 400, wheel: true },
  { name: 'right front', xMm: 1200, yMm: -400, wheel: true },
  { name: 'g1', xMm: 600, yMm: 600 },
  { name: 'g2', xMm: 600, yMm: -600 },
];
const heights = [0, 2, 1, 5, 3, 4];
const staff = [1, 2].flatMap((setUp) =>
  points.map((p, i) => ({ setUp, point: p.name, readingMm: 1400 + 10 * setUp - (heights[i] ?? 0) })),
);
const file = {
  format: 'swathplane-bay/1',
  name: 'bay 3',
  invented: true,
  points,
  survey: { date: '2026-01-10', instrument: 'level 4', expandedUncertaintyMm: 0.4, staff },
};
const parse = (changes: object = {}) => parseBay(JSON.stringify({ ...file, ...changes }), 'bay.json');

describe('the file', () => {
  test('takes its defaults: parking 20 mm and 1 degree, 180 days', () => {
    const bay = parse();
    expect(bay.parking).toEqual({ xMm: 0, yMm: 0, headingDeg: 0, positionSdMm: 20, headingSdDeg: 1 });
    expect(bay.survey?.expiresDays).toBe(180);
  });

  test('is refused by number, with the place', () => {
    expect(refusal(() => parseBay('{', 'bay.json')).number).toBe(451);
    const wrong = refusal(() => parse({ points: [...points, { name: 'g1', xMm: 0, yMm: 0, high: 2 }] }));
    expect(wrong.number).toBe(452);
    expect(wrong.message).toContain('points.6');
    const unknown = { ...file.survey, staff: [...staff, { setUp: 1, point: 'g9', readingMm: 1 }] };
    expect(refusal(() => parse({ survey: unknown })).message).toContain("no point is called 'g9'");
    const twice = [...points, { name: 'g1', xMm: 900, yMm: 0 }];
    expect(refusal(() => parse({ points: twice })).message).toContain("'g1' is there twice");
  });
});

describe('the survey', () => {
  test('finds the heights against the first point', () => {
    const found = surveyResult(parse())?.adjustment.heights.map((h) => (h.determined ? h.heightMm : NaN));
    found?.forEach((h, i) => expect(h).toBeCloseTo(heights[i] ?? NaN, 9));
    // Two differences of two readings of 0.2 mm each, averaged.
    expect(surveyResult(parse())?.uncertaintyMm).toBeCloseTo(0.2, 9);
  });

  test('without a check, with a point that hangs on nothing, or with a wrong reading, is not used and says why', () => {
    const faultOf = (changed: typeof staff) => {
      const bay = parse({ survey: { ...file.survey, staff: changed } });
      expect(surveyState(bay, '2026-02-01')).toBe('not usable');
      return surveyResult(bay)?.faults[0];
    };
    expect(faultOf(staff.slice(0, 6))?.error).toBe('survey not checked');
    expect(faultOf(staff.filter((s) => s.point !== 'g2'))).toEqual({
      error: 'point not reached',
      about: 'g2',
    });
    const wrong = staff.map((s, i) => (i === 8 ? { ...s, readingMm: s.readingMm + 10 } : s));
    const fault = faultOf(wrong);
    expect(fault?.error).toBe('survey does not close');
    expect(fault?.about).toContain('the staff on left front from set-up 2');
  });

  test('counts until its last day and not a day longer; a job says so', () => {
    const bay = parse();
    // 180 days after 10 January 2026, counted on a calendar: 9 July.
    expect(surveyState(bay, '2026-07-09')).toBe('surveyed');
    expect(surveyState(bay, '2026-07-10')).toBe('expired');
    const of = (on: string) => ({ bay, on, turnRounds: [] });
    expect(floorOfJob(of('2026-07-09'))?.rows).toHaveLength(6);
    expect(floorOfJob(of('2026-07-10'))).toBeUndefined();
    expect(bayLine(of('2026-07-09'), false)).toMatchObject({ state: 'surveyed', surveyDate: '2026-01-10' });
    expect(bayLine(of('2026-07-10'), false).sentences[0]).toContain('expired on 2026-07-09');
    expect(bayLine(of('2026-02-01'), true).sentences[0]).toContain('disagree');
    expect(bayLine(undefined, false).sentences[0]).toContain('not surveyed');
    const none: Bay = { ...bay, survey: undefined };
    expect(bayLine({ ...of('2026-02-01'), bay: none }, false).state).toBe('not surveyed');
  });
});

test('a turn-round that agrees with the survey narrows the floor, one that contradicts it puts the survey aside', () => {
  const bay = parse();
  const on = '2026-02-01';
  // Height of the left front spot over the mean of its neighbours: 1 - (0 + 5) / 2 = -1.5 mm by the survey.
  const sum = (valueMm: number) => ({
    name: 'level',
    on,
    places: [
      { xMm: 1200, yMm: 400, weight: 1 },
      { xMm: 0, yMm: 450, weight: -0.5 },
      { xMm: 1200, yMm: -400, weight: -0.5 },
    ],
    valueMm,
    standardUncertaintyMm: 0.3,
  });
  const of = (valueMm: number) => ({ bay, on, turnRounds: [sum(valueMm)] });
  expect(floorOfJob(of(-1.4))?.rows).toHaveLength(7);
  expect(floorOfJob(of(1.5))?.rows).toHaveLength(1);
  expect(bayLine(of(-1.4), false).state).toBe('surveyed');
  expect(bayLine(of(1.5), false).state).toBe('disagrees');
});

describe('wheel plane', () => {
  const spots = points.slice(0, 4).map((p, i) => ({ ...p, heightMm: heights[i] ?? 0 }));

  test('a plane has slope and no twist', () => {
    const plane = wheelPlane(spots.map((s) => ({ ...s, heightMm: 7 + 0.012 * s.xMm - 0.004 * s.yMm })));
    expect(plane?.slopeX).toBeCloseTo(12, 9);
    expect(plane?.slopeY).toBeCloseTo(-4, 9);
    expect(plane?.twistMm).toBeCloseTo(0, 9);
  });

  test('each shim nulls the twist, and the thinnest comes first', () => {
    const plane = wheelPlane(spots);
    expect(plane?.shims).toHaveLength(2);
    const [thin, thick] = plane?.shims ?? [];
    expect(thin?.heightMm).toBeLessThan(thick?.heightMm ?? 0);
    for (const shim of plane?.shims ?? []) {
      const shimmed = spots.map((s) =>
        s.name === shim.spot ? { ...s, heightMm: s.heightMm + shim.heightMm } : s,
      );
      expect(wheelPlane(shimmed)?.twistMm).toBeCloseTo(0, 9);
    }
  });

  test('the twist is the height of a spot above the plane of the other three, by hand', () => {
    // On a rectangle with one corner 4 mm up, it is 4 mm above the other three; so is the corner across.
    const rectangle = [
      [0, 0, 0],
      [1000, 0, 4],
      [0, 800, 0],
      [1000, 800, 0],
    ].map(([xMm, yMm, heightMm], i) => ({ name: `${i}`, xMm, yMm, heightMm }));
    expect(wheelPlane(rectangle)?.twistMm).toBeCloseTo(4, 9);
    expect(wheelPlane(rectangle)?.shims.map((s) => s.spot)).toEqual(['0', '3']);
  });

  test('too steep or too twisted is said, with the shim', () => {
    const steep = parse({ slopeLimitMmPerM: 1, twistLimitMm: 0.5 });
    const notices = surveyResult(steep)?.notices.join(' ');
    expect(notices).toContain('slope');
    expect(notices).toContain('shim');
  });
});

describe('caster swing', () => {
  // A stiff frame of which a shim s moves load k s from the right caster to the left: forces in proportion to load.
  const pull = (leftShimMm: number) => {
    const moved = 30 + 12 * leftShimMm;
    return { leftShimMm, leftN: 0.1 * (260 + moved), rightN: 0.1 * (340 - moved) };
  };

  test('the secant finds the shim at which both carry alike', () => {
    // 260 + 30 + 12 s = 340 - 30 - 12 s at s = 20 / 24 mm.
    const { equalShimMm, imbalance } = casterSwing([pull(0), pull(4)]);
    expect(imbalance[0]).toBeLessThan(0);
    expect(equalShimMm).toBeCloseTo(20 / 24, 9);
  });

  test('its uncertainty is the spread that uncertain forces give', () => {
    let seed = 1;
    const next = () => {
      seed = (seed * 16807) % 2147483647;
      return seed / 2147483647;
    };
    const normal = () => Math.sqrt(-2 * Math.log(next())) * Math.cos(2 * Math.PI * next());
    const noisy = (c: ReturnType<typeof pull>) => ({
      ...c,
      leftN: c.leftN * (1 + 0.02 * normal()),
      rightN: c.rightN * (1 + 0.02 * normal()),
    });
    const found = Array.from(
      { length: 4000 },
      () => casterSwing([noisy(pull(0)), noisy(pull(8))], 0.02).equalShimMm ?? NaN,
    );
    const mean = found.reduce((a, b) => a + b, 0) / found.length;
    const sd = Math.sqrt(found.reduce((a, b) => a + (b - mean) ** 2, 0) / found.length);
    const stated = casterSwing([pull(0), pull(8)], 0.02).standardUncertaintyMm ?? NaN;
    expect(sd / stated).toBeGreaterThan(0.93);
    expect(sd / stated).toBeLessThan(1.07);
  });

  test('one check, or a shim that changed nothing, gives no shim', () => {
    expect(casterSwing([pull(0)]).equalShimMm).toBeUndefined();
    expect(casterSwing([pull(0), { ...pull(0), leftShimMm: 2 }]).equalShimMm).toBeUndefined();
  });
});
