/**
 * Drawings against geometry worked out by hand from the numbers in dunfallow-116.json: left spindle at x 540, y 375, centre
 * at 730, 0, radius 205; x forward and y left, so that front up puts (x, y) at (-y, -x) on the screen.
 */
import { expect, it } from 'vitest';
import { loadProfile } from '../../../host/machines/load';
import { sidePicture } from '../../../host/views/side-picture';
import type { StageView } from '../../../host/views/stage-view';
import { deckPlan, type DeckMarks } from '../../../host/views/deck-plan';
import { turnPicture } from '../../../host/views/turn-picture';
import { BeforeAfter } from '../../../host/page/drawings/before-after';
import { DeckFromAbove } from '../../../host/page/drawings/deck-from-above';
import { ResultMark } from '../../../host/page/drawings/result-mark';
import { SideView } from '../../../host/page/drawings/side-view';
import { SkirtOutline } from '../../../host/page/drawings/skirt-outline';
import { SwathProfile } from '../../../host/page/drawings/swath-profile';
import { LiveTurnBar, NutToTurn } from '../../../host/page/drawings/what-to-turn';
import { all, drawn, numbers, words, type Element } from './drawn';

const profile = loadProfile('dunfallow-116');
const plan = deckPlan(profile);
const say = (mm: number) => mm.toFixed(1);
const circles = (root: Element) =>
  all(root, 'g', 'blade-circle').map((g) => {
    const { cx, cy, r } = all(g, 'circle')[0].attributes;
    return [cx, cy, r].map(Number);
  });

it('draws wheels, spindles and blade circles where they stand, one unit a millimetre, front up', () => {
  const root = drawn(<DeckFromAbove plan={plan} say={say} />);
  expect(circles(root)).toEqual([
    [-375, -540, 205],
    [0, -730, 205],
    [375, -540, 205],
  ]);
  // The rear left wheel is at x 0, y 425; wheels are drawn 260 long and 110 wide.
  const rearLeft = all(root, 'rect', 'wheel')[2].attributes;
  expect([rearLeft.x, rearLeft.y, rearLeft.width, rearLeft.height].map(Number)).toEqual([
    -480, -130, 110, 260,
  ]);
});

it('is turned by half a turn, not mirrored, for somebody at the front; its letters are not turned', () => {
  const root = drawn(<DeckFromAbove plan={plan} say={say} fromFront />);
  expect(circles(root)).toEqual([
    [375, 540, 205],
    [0, 730, 205],
    [-375, 540, 205],
  ]);
  expect(all(root, 'text').map((t) => t.attributes.transform)).toEqual(
    all(root, 'text').map(() => undefined),
  );
  const [side, other] = ['left', 'right'].map((word) =>
    Number(
      all(root, 'text').find((t) => words(t) === word && t.attributes['text-anchor'] !== 'middle')?.attributes
        .x,
    ),
  );
  expect(side).toBeGreaterThan(other);
});

it('turns the arrows of rotation the way the blades turn, from both sides', () => {
  const other = {
    ...plan,
    spindles: plan.spindles.map((s) => ({ ...s, rotation: 'counter-clockwise' as const })),
  };
  for (const fromFront of [false, true]) {
    // In SVG a sweep flag of 1 is clockwise on the screen.
    expect(sweeps(drawn(<DeckFromAbove plan={plan} say={say} fromFront={fromFront} />))).toEqual([
      1, 1, 1, 1, 1, 1,
    ]);
    expect(sweeps(drawn(<DeckFromAbove plan={other} say={say} fromFront={fromFront} />))).toEqual([
      0, 0, 0, 0, 0, 0,
    ]);
  }
});

function sweeps(root: Element): number[] {
  return all(root, 'g', 'rotation').map((g) => sweepOf(all(g, 'path', 'line')[0].attributes.d));
}

/** "M x y A r r 0 large sweep x y" */
function sweepOf(arc: string): number {
  return numbers(arc)[6];
}

it('marks the wanted tip by shape and number, and reached tips with height and what they are off', () => {
  const marks: DeckMarks = {
    taken: [
      {
        number: 1,
        spindle: 'centre',
        headingDeg: 0,
        xMm: 935,
        yMm: 0,
        ends: [{ end: 'A', heightMm: 72.6, offMm: -0.42 }],
      },
    ],
    // The left blade pointing left ends at y 375 + 205.
    wanted: { number: 2, spindle: 'left', headingDeg: 90, end: 'A', xMm: 540, yMm: 580 },
  };
  const root = drawn(<DeckFromAbove plan={plan} marks={marks} say={say} />);
  const wanted = all(root, 'g', 'wanted');
  expect(words(wanted[wanted.length - 1]).trim()).toBe('2');
  const corners = numbers(all(wanted[wanted.length - 1], 'path')[0].attributes.d);
  expect(corners).toHaveLength(8);
  expect(corners.filter((_, i) => i % 2 === 0).reduce((a, b) => a + b) / 4).toBeCloseTo(-580, 0);
  expect(corners.filter((_, i) => i % 2 === 1).reduce((a, b) => a + b) / 4).toBeCloseTo(-540, 0);
  // The blade reaches from tip to tip through the spindle.
  expect(numbers(all(wanted[0], 'path', 'blade')[0].attributes.d)).toEqual([-580, -540, -170, -540]);
  const taken = all(root, 'g', 'taken');
  expect(taken.map((t) => [all(t, 'circle')[0].attributes.cx, all(t, 'circle')[0].attributes.cy])).toEqual([
    ['0', '-935'],
  ]);
  expect(words(taken[0]).trim().split(/\s+/)).toEqual(['1', '72.6', 'off', '−0.4']);
});

it('draws blocked headings where they are: the right blade from -70 to -40 degrees', () => {
  const root = drawn(<DeckFromAbove plan={plan} say={say} />);
  const ticks = numbers(all(root, 'path', 'blocked')[0].attributes.d);
  const ends = Array.from({ length: ticks.length / 4 }, (_, i) => [ticks[4 * i + 2], ticks[4 * i + 3]]);
  // cos 70 = 0.342, sin 70 = 0.940; cos 40 = 0.766, sin 40 = 0.643.
  expect(ends[0][0]).toBeCloseTo(375 + 205 * 0.9397, 0);
  expect(ends[0][1]).toBeCloseTo(-(540 + 205 * 0.342), 0);
  expect(ends[ends.length - 1][0]).toBeCloseTo(375 + 205 * 0.6428, 0);
  expect(ends[ends.length - 1][1]).toBeCloseTo(-(540 + 205 * 0.766), 0);
});

it('turns the nut the way the person turns it, with every flat to be counted', () => {
  const [rod, arm] = profile.adjusters;
  // 13 flats up; one turn of the arm raises 1.8 mm. Raising is clockwise seen from above.
  const raise = turnPicture(profile, arm, 15 / 6, 4.5);
  const lower = turnPicture(profile, rod, -5 / 6, -2.04);
  expect(raise).toMatchObject({ way: 'raise', mm: 4.5, wholeTurns: 2, restSteps: 3, rotation: 'clockwise' });
  expect(raise.places).toEqual([{ xMm: 330, yMm: 300 }]);
  expect(lower).toMatchObject({ way: 'lower', wholeTurns: 0, restSteps: 5, rotation: 'counter-clockwise' });
  for (const [turn, name, sweep] of [
    [raise, 'whole-turns', 1],
    [lower, 'part-turn', 0],
  ] as const) {
    const root = drawn(<NutToTurn turn={turn} />);
    expect(sweepOf(all(all(root, 'g', name)[0], 'path', 'line')[0].attributes.d)).toBe(sweep);
    const flats = all(root, 'path', 'flats')[0].attributes.d.split('M').slice(1);
    expect(flats).toHaveLength(turn.restSteps);
    expect(flats.map((f) => sweepOf(`M${f}`))).toEqual(flats.map(() => sweep));
  }
});

it('fills the bar of a live turn to its mark at the share moved, up or down', () => {
  const bar = (share: number, goes: 'up' | 'down') => {
    const root = drawn(<LiveTurnBar live={{ share, text: 'turn on', goes }} />);
    const way = all(root, 'rect', 'way')[0].attributes;
    const mark = numbers(all(root, 'path', 'mark')[0].attributes.d)[1];
    return { top: Number(way.y), bottom: Number(way.y) + Number(way.height), mark };
  };
  expect(bar(1, 'up').top).toBeCloseTo(bar(1, 'up').mark, 6);
  expect(bar(1, 'down').bottom).toBeCloseTo(bar(1, 'down').mark, 6);
  const half = bar(0.5, 'up');
  expect(half.top).toBeCloseTo((half.mark + half.bottom) / 2, 6);
  expect(bar(1.3, 'up').top).toBeLessThan(half.mark);
});

it('draws the side view with the slope as many times larger as it says, front at the left', () => {
  // A plane that rises by 1 in 100 toward the front: 60 mm at the drive axle, 69.35 mm at the foremost tip, x 935.
  const stage = {
    plane: { z0Mm: 60, slopeX: 0.01, slopeY: 0 },
    tips: [],
    measures: [],
  } as unknown as StageView;
  const picture = sidePicture(profile, [stage]);
  if (picture === undefined) throw new Error('no picture');
  expect(picture.now.frontHeightMm).toBeCloseTo(69.35, 9);
  const root = drawn(<SideView picture={picture} say={say} />);
  expect(root.attributes['aria-label']).toContain(`heights drawn ${picture.factor} times as large`);
  const lines = all(root, 'path', 'thick').map((p) => numbers(p.attributes.d));
  const [frontX, frontY, rearX, rearY] = lines[0];
  expect(frontX).toBeLessThan(rearX);
  expect((rearY - frontY) / (rearX - frontX) / picture.factor).toBeCloseTo(0.01, 3);
});

it('shows a verdict by its shape, values by bars as long as their uncertainty', () => {
  const row = (verdict: 'inside' | 'outside' | 'cannot tell yet') => ({
    name: 'level',
    limits: { lowerMm: -3, upperMm: 3 },
    targetMm: 0,
    now: { valueMm: 1, expandedMm: 1 },
    verdict,
  });
  const root = drawn(<BeforeAfter title="Measures" rows={[row('inside')]} say={say} />);
  const [low, high] = all(all(root, 'g', 'limits')[0], 'path').map((p) => numbers(p.attributes.d)[0]);
  const bar = numbers(all(all(root, 'g', 'now')[0], 'path')[0].attributes.d);
  expect((bar[2] - bar[0]) / (high - low)).toBeCloseTo(2 / 6, 2);
  expect((bar[0] + bar[2]) / 2).toBeCloseTo(low + ((high - low) * 4) / 6, 0);
  const shapes = (['inside', 'outside', 'cannot tell yet'] as const).map((verdict) => {
    const drawing = drawn(<BeforeAfter title="Measures" rows={[row(verdict)]} say={say} />);
    return [...all(drawing, 'path', 'verdict'), ...all(drawing, 'text', 'verdict')].map(
      (e) => e.attributes.d ?? words(e),
    );
  });
  expect(new Set(shapes.flat()).size).toBe(3);
});

it('puts the end of the probability where the probability is', () => {
  const root = drawn(
    <ResultMark
      decision="undecided"
      word="can't tell yet"
      probability={0.25}
      probabilityText="at least 25.0 %"
    />,
  );
  const track = all(root, 'rect', 'track')[0].attributes;
  expect(Number(all(root, 'rect', 'way')[0].attributes.width) / Number(track.width)).toBeCloseTo(0.25, 6);
  expect(words(root)).toContain('at least 25.0 %');
});

it('draws the swath with the left at the left and higher grass higher', () => {
  const swath = {
    geometric: true as const,
    widthMm: 1000,
    points: [
      { yMm: -500, heightMm: 70, spindle: 'right' },
      { yMm: 500, heightMm: 80, spindle: 'left' },
    ],
    meanMm: 75,
    rmsMm: 5,
    steps: [],
    betweenPasses: undefined,
  };
  const [line] = all(drawn(<SwathProfile now={swath} say={say} />), 'path', 'thick');
  const [rightX, rightY, leftX, leftY] = numbers(line.attributes.d);
  expect(leftX).toBeLessThan(rightX);
  expect(leftY).toBeLessThan(rightY);
});

it('draws a skirt gap twice as wide where it is twice as large', () => {
  const left = {
    side: 'left' as const,
    points: [
      { xMm: 900, yMm: 500, gapMm: 30 },
      { xMm: 100, yMm: 500, gapMm: 60 },
    ],
    leastMm: 30,
    greatestMm: 60,
    lengthMm: 800,
    areaMm2: 36_000,
  };
  const root = drawn(<SkirtOutline gap={{ sides: [left], unevenMm: 30, airAreaMm2: 36_000 }} say={say} />);
  // Edge from front to rear, then the band's outer line back from rear to front.
  const [frontX, , rearX, , outRearX, , outFrontX] = numbers(all(root, 'path', 'band')[0].attributes.d);
  expect(rearX - outRearX).toBeCloseTo(2 * (frontX - outFrontX), 0);
  expect(outRearX).toBeLessThan(rearX);
  expect(words(root)).toContain('60.0');
});
