/** Swath profile and skirt gap against figures worked out by hand from circles and planes. */
import { expect, test } from 'vitest';
import type { Solution } from '../../../protocol/solver';
import { loadProfile } from '../../../host/machines/load';
import type { MachineProfile } from '../../../host/machines/profile';
import { skirtGapOf } from '../../../host/views/skirt-gap';
import { swathOf } from '../../../host/views/swath';

const no = { determined: false } as const;
const known = (value: number) => ({ determined: true, value, standardUncertainty: 0.1 }) as const;
const TRUE_SPINDLE = { heightMm: no, tiltXRad: no, tiltYRad: no, bendMm: no };

function posed(profile: MachineProfile, z0Mm: number, slopeX: number, slopeY: number) {
  return {
    pose: { z0Mm, slopeX, slopeY, covariance: [], slopeXSeparate: true, slopeYSeparate: true },
    spindles: profile.spindles.map((): Solution['spindles'][number] => TRUE_SPINDLE),
  };
}

const three = loadProfile('quellbeck-133');

test('a level deck leaves one height, without steps', () => {
  const swath = swathOf(three, posed(three, 75, 0, 0));
  expect(swath?.widthMm).toBe(1330);
  expect(swath?.points[0]).toMatchObject({ yMm: -665, heightMm: 75 });
  expect(swath?.points.at(-1)?.yMm).toBeCloseTo(665, 9);
  expect(swath?.rmsMm).toBeCloseTo(0, 9);
  expect(Math.max(...(swath?.steps ?? []).map((s) => s.mm))).toBeCloseTo(0, 9);
  expect(swath?.betweenPasses).toEqual({ overlapMm: 100, sameWayMm: 0, returningMm: 0 });
});

test('rake bows the strip of each blade, and the blades meet with a step', () => {
  // Front lower by 1 in 100. By hand: over its middle the left blade (x 600, r 230) cuts at 80 - 0.01 * 830; at its inner
  // edge y 205 at 80 - 0.01 * 600 = 74, where the centre blade (x 780) cuts at 80 - 0.01 * (780 + sqrt(230^2 - 205^2)).
  const swath = swathOf(three, posed(three, 80, -0.01, 0));
  const nearest = (yMm: number) =>
    swath?.points.reduce((a, b) => (Math.abs(b.yMm - yMm) < Math.abs(a.yMm - yMm) ? b : a));
  expect(nearest(435)).toMatchObject({ spindle: 'left' });
  expect(nearest(435)?.heightMm).toBeCloseTo(71.7, 3);
  expect(nearest(0)?.heightMm).toBeCloseTo(69.9, 3);
  // The blade that ends there cuts higher than the one that takes over: its edge does not show.
  expect(swath?.steps.find((s) => s.of === 'left')?.mm).toBe(0);
  // The centre blade's edge at y 230 is at 80 - 7.8 = 72.2; the left one cuts there at 80 - 6 - 0.01 sqrt(230^2 - 205^2).
  const left = 80 - 0.01 * (600 + Math.sqrt(230 ** 2 - 205 ** 2));
  expect(swath?.steps.find((s) => s.of === 'centre' && s.yMm === 230)?.mm).toBeCloseTo(left - 72.2, 9);
});

test('a deck that hangs lower on the left leaves a step to the next pass, mown the same way, and none coming back', () => {
  // By hand: 2 in 1000 down to the left. Edges at y +-665; overlap 100, so the other pass is at y -+565 there.
  const swath = swathOf(three, posed(three, 75, 0, -0.002));
  expect(swath?.betweenPasses?.sameWayMm).toBeCloseTo(0.002 * (1330 - 100), 9);
  expect(swath?.betweenPasses?.returningMm).toBeCloseTo(0.002 * 100, 9);
});

test('a high spindle, a bent blade and a tilted spindle show in their own strip', () => {
  const solution = posed(three, 75, 0, 0);
  solution.spindles = [
    { ...TRUE_SPINDLE, heightMm: known(2) },
    { ...TRUE_SPINDLE, bendMm: known(-3) },
    { ...TRUE_SPINDLE, tiltYRad: known(0.01) },
  ];
  const swath = swathOf(three, solution);
  const heightOver = (yMm: number) =>
    swath?.points.reduce((a, b) => (Math.abs(b.yMm - yMm) < Math.abs(a.yMm - yMm) ? b : a)).heightMm;
  expect(heightOver(435)).toBeCloseTo(77, 9);
  expect(heightOver(0)).toBeCloseTo(73.5, 9);
  expect(heightOver(-665)).toBeCloseTo(75 - 0.01 * 230, 9);
});

test('the upper blade of a cross never cuts last', () => {
  const cross = loadProfile('larkpenny-51');
  const swath = swathOf(cross, posed(cross, 60, 0, 0));
  expect(new Set(swath?.points.map((p) => p.spindle))).toEqual(new Set(['lower']));
});

test('nothing is said without a plane or an outline', () => {
  expect(swathOf(three, { pose: 'not determined', spindles: [] })).toBeUndefined();
  expect(skirtGapOf(three, undefined)).toBeUndefined();
  const { skirt: _, ...bare } = three;
  expect(skirtGapOf(bare, { z0Mm: 75, slopeX: 0, slopeY: 0 })).toBeUndefined();
});

test('skirt gap by side', () => {
  const profile: MachineProfile = {
    ...three,
    skirt: [
      {
        side: 'left',
        points: [
          { xMm: 800, yMm: 600, aboveTipsMm: -10 },
          { xMm: 400, yMm: 600, aboveTipsMm: -10 },
        ],
      },
      {
        side: 'rear',
        points: [
          { xMm: 400, yMm: 600, aboveTipsMm: -10 },
          { xMm: 400, yMm: -600, aboveTipsMm: -10 },
        ],
      },
    ],
  };
  // By hand: 80 - 0.01 x + 0.005 y less 10. Left: 65 in front, 69 behind; rear: 69 on the left, 63 on the right.
  const gap = skirtGapOf(profile, { z0Mm: 80, slopeX: -0.01, slopeY: 0.005 });
  expect(gap?.sides.map((s) => [s.leastMm, s.greatestMm].map((mm) => mm.toFixed(6)))).toEqual([
    ['65.000000', '69.000000'],
    ['63.000000', '69.000000'],
  ]);
  expect(gap?.sides.map((s) => s.lengthMm)).toEqual([400, 1200]);
  expect(gap?.unevenMm).toBeCloseTo(6, 9);
  expect(gap?.airAreaMm2).toBeCloseTo(400 * 67 + 1200 * 66, 6);
});
