/** The word beside the live height while a nut is turned: it is to be read by somebody whose hand shakes the tip. */
import { expect, test } from 'vitest';
import type { Task } from '../../../host/procedure/task';
import { liveView, recentHeights, type LiveView } from '../../../host/views/live-view';
import type { Body } from '../../../protocol/wire/messages';

const TARGET_MM = 79;
const TURN: Task = {
  do: 'turn',
  adjuster: {
    name: 'front',
    moves: [],
    raises: { rotation: 'clockwise', seenFrom: 'above' },
    stepTurns: 0.5,
    ratioUncertainty: 0.1,
    travelTurns: [-8, 8],
  },
  turns: 2,
  raiseMm: 4,
  left: 1,
  live: {
    startMm: 75,
    step: {
      what: 'watch',
      adjuster: 0,
      turns: 2,
      tip: { spindle: 0, headingDeg: 90 },
      changeMm: TARGET_MM - 75,
      mmPerTurn: 2,
    },
  },
};

/** Twenty heights a second; gives what is shown from the first full mean on. */
function shown(heightMmAt: (seconds: number) => number, seconds = 4): LiveView[] {
  let recent: Body<'live'>[] = [];
  const views = Array.from({ length: 20 * seconds }, (_, i) => {
    recent = recentHeights(recent, liveAt(50 * i, heightMmAt(i / 20)));
    return liveView(TURN, recent);
  });
  return views.slice(8).flatMap((view) => view ?? []);
}

function liveAt(uptimeMs: number, heightMm: number): Body<'live'> {
  return { uptimeMs, height: 1000 * heightMm } as Body<'live'>;
}

// Tremor of a hand is 4 to 12 Hz; the physiological one of a healthy hand 8 to 12 Hz (common knowledge of physiology, from
// memory). How far it shakes a clamped tip is ours.
test.each([4, 5.5, 7.1, 8, 9, 10.3, 12])(
  'a tremor of %d Hz and 0.4 mm each way leaves the word alone',
  (hz) => {
    const shaken = (atMm: number) => shown((s) => atMm + 0.4 * Math.sin(2 * Math.PI * hz * s));
    expect(new Set(shaken(TARGET_MM).map((v) => v.state))).toEqual(new Set(['stop']));
    expect(new Set(shaken(TARGET_MM - 0.4).map((v) => v.state))).toEqual(new Set(['turn on']));
    expect(new Set(shaken(TARGET_MM + 0.4).map((v) => v.state))).toEqual(new Set(['past it']));
  },
);

test('where the tip moves by 0.5 mm a second, what is shown is at most 0.1 mm behind', () => {
  const views = shown((s) => 75 + 0.5 * s, 8);
  expect(views).toHaveLength(152);
  views.forEach((view, i) => {
    const nowMm = 75 + (0.5 * (i + 8)) / 20;
    expect(nowMm - view.heightMm).toBeGreaterThan(0);
    expect(nowMm - view.heightMm).toBeLessThanOrEqual(0.1);
  });
});

test('a fixture that was without power counts from nothing again: only what it sends since then is shown', () => {
  let recent: Body<'live'>[] = [];
  for (let ms = 90_000; ms < 91_000; ms += 50) recent = recentHeights(recent, liveAt(ms, 60));
  expect(recent).toHaveLength(8);
  expect(liveView(TURN, recentHeights(recent, liveAt(50, 79)))?.heightMm).toBe(79);
});

test('nothing is shown of a turn that is not watched', () => {
  expect(liveView(undefined, [liveAt(0, 75)])).toBeUndefined();
});
