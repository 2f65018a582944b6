/** Readings judged before they are taken: against the solver after they are, against arithmetic by hand, against all subsets. */
import { describe, expect, it } from 'vitest';
import { widthValues } from '../../../host/gauging/widths';
import { loadProfile } from '../../../host/machines/load';
import { layoutOf, measureQuestions } from '../../../host/procedure/assess';
import { placesOf, readingTask } from '../../../host/procedure/reading-task';
import { seededRandom } from '../../../host/simulation/random';
import {
  acceptedShare,
  DECIDING_PROBABILITY,
  nextReadings,
  planSequence,
  solveTips,
  type MeasureQuestion,
  type ReadingTask,
  type TipReading,
} from '../../../protocol/solver';
import { measuresOf } from '../../../protocol/solver/foresight';
import { knowing } from '../../../protocol/solver/next-reading';
import { secondsInOrder } from '../../../protocol/solver/reading-order';
import { planeOnTarget, pretend, sceneOf } from '../../../protocol/solver/scene';
import { leastSeconds } from '../../campaign/sequences';

const taskFor = (name: string): ReadingTask => {
  const profile = loadProfile(name);
  return readingTask({ profile }, layoutOf(profile));
};
const plansOf = new Map<string, ReturnType<typeof planSequence>>();
const planFor = (name: string) => {
  const found = plansOf.get(name) ?? planSequence(taskFor(name));
  plansOf.set(name, found);
  return found;
};

/** One spindle with nothing in the way: no floor, no tilt, no heading error. */
const bare: ReadingTask = {
  layout: {
    spindles: [{ xMm: 500, yMm: 0, tipRadiusMm: 250 }],
    wheels: [
      { xMm: 0, yMm: 400 },
      { xMm: 0, yMm: -400 },
      { xMm: 1000, yMm: 0 },
    ],
    groundPlane: 'three wheels',
  },
  widths: {
    ...widthValues(60),
    placementMm: 0.3,
    textureMm: 0.4,
    floorMm: 0,
    gain: 0,
    spindleTiltRad: 0,
    shaftMm: 0,
    bendMm: 1,
    headingDeg: 0,
  },
  questions: [{ what: 'bend', name: 'bend', spindle: 0, targetMm: 0, lowerMm: -3, upperMm: 3 }],
  places: [0, 90].flatMap((headingDeg) => ([1, -1] as const).map((end) => ({ spindle: 0, headingDeg, end }))),
  standardErrorMm: 0,
};

describe('what readings will be worth', () => {
  it('is what the solver finds after them: seatings, clampings and ends as they come', () => {
    const random = seededRandom(3).split('foresight');
    for (const name of ['pimwick-76', 'quellbeck-133']) {
      const task = taskFor(name);
      const widths = { ...task.widths, headingDeg: 0 };
      const plane = planeOnTarget(task.layout, task.questions);
      for (let round = 0; round < 5; round++) {
        const shuffled = () => [...task.places].sort(() => random.uniform() - 0.5);
        const places = [...shuffled(), ...shuffled()];
        const clampings = places.map((_, i) => Math.floor(i / 2) * 20);
        const numbered = places.map((p, i) => clampings[i] + 2 * p.spindle + (p.end === 1 ? 0 : 1));
        const seatings = places.map((_, i) => (i < 9 ? 1 : 2));
        const taken = pretend(task.layout, plane, places, 0.02, numbered, seatings);
        const scene = sceneOf({ ...task, widths, plane, seatingPerClamping: false, taken });
        const foreseen = measuresOf(scene, knowing(scene, taken));
        const { measureCovariance, measures } = solveTips(task.layout, taken, widths, task.questions);
        expect(measures.every((m) => m.determined)).toBe(true);
        measureCovariance.forEach((value, i) => expect(foreseen[i]).toBeCloseTo(value, 5));
      }
    }
  });

  it('the uncertainty that a plan expects is the one after readings that show something else', () => {
    const random = seededRandom(4).split('plan');
    for (const name of ['orrinshaw-106', 'quellbeck-133']) {
      const task = taskFor(name);
      const { steps, expectedMm } = planFor(name);
      let placement = 0;
      const taken = steps.map(({ spindle, headingDeg, end, reclamp }): TipReading => {
        if (reclamp) placement += 1;
        const heightMm = 70 + random.normal(2);
        return {
          spindle,
          headingDeg,
          end,
          refitted: false,
          seating: 1,
          placement,
          heightMm,
          standardErrorMm: 0.02,
        };
      });
      const { measures } = solveTips(task.layout, taken, task.widths, task.questions);
      measures.forEach((m, i) => {
        if (!m.determined) throw new Error(`${m.name} is not determined`);
        // The slopes that the heading error is multiplied by differ from those on target.
        expect(m.standardUncertaintyMm / expectedMm[i]).toBeGreaterThan(0.9);
        expect(m.standardUncertaintyMm / expectedMm[i]).toBeLessThan(1.1);
      });
    }
  });

  it('bend by hand: two clampings and two pointings, 2 (0.3² + 0.4²), against a prior of (2 x 1 mm)²', () => {
    const { steps, seconds, expectedMm, decides } = planSequence(bare);
    expect(steps).toHaveLength(2);
    expect(new Set(steps.map((s) => s.end)).size).toBe(2);
    // Two clampings and two captures: 2 (25 + 3).
    expect(seconds).toBe(56);
    expect(decides).toBe(true);
    // 1 / (1 / 4 + 1 / 0.5) = 0.444.
    expect(expectedMm[0] ** 2).toBeCloseTo(0.4444, 3);
  });

  it('one normal measure on target is accepted by arithmetic: 2 Phi(3 - 2.0537) - 1 = 0.6560', () => {
    const one: MeasureQuestion[] = [
      { what: 'tips', name: 'level', terms: [], targetMm: 0, lowerMm: -3, upperMm: 3 },
    ];
    // Phi(0.9463) = 0.8280, table of the normal distribution.
    expect(acceptedShare(one, [1], 20_000)).toBeCloseTo(0.656, 2);
  });
});

describe('the deciding sequence', () => {
  it('costs the least that any subset of the places costs which decides (one and two spindles)', () => {
    for (const name of ['pimwick-76', 'orrinshaw-106']) {
      expect(planFor(name).decides).toBe(true);
      expect(planFor(name).seconds).toBe(leastSeconds(taskFor(name)));
    }
  });

  it('three spindles: at most 190 s with bend; at most 120 s without, over a known floor with blades alike to 0.3 mm', () => {
    const withBend = planFor('quellbeck-133');
    expect(withBend.acceptsCentred).toBeGreaterThanOrEqual(DECIDING_PROBABILITY);
    expect(withBend.seconds).toBeLessThanOrEqual(190);
    const task = taskFor('quellbeck-133');
    const without = planSequence({
      ...task,
      widths: { ...task.widths, bendMm: 0.3, floorMm: 0.3 },
      questions: task.questions.filter((q) => q.what === 'tips'),
    });
    expect(without.acceptsCentred).toBeGreaterThanOrEqual(DECIDING_PROBABILITY);
    expect(without.seconds).toBeLessThanOrEqual(120);
  });

  it('five spindles over an unsurveyed floor are not decided by one seating, and it says so', () => {
    expect(planFor('thrushmoor-248').decides).toBe(false);
  });

  it('keeps out of blocked arcs and clamps each end once', () => {
    for (const name of ['orrinshaw-106', 'quellbeck-133']) {
      const profile = loadProfile(name);
      const reachable = placesOf(profile);
      const { steps } = planFor(name);
      for (const step of steps)
        expect(reachable).toContainEqual({
          spindle: step.spindle,
          headingDeg: step.headingDeg,
          end: step.end,
        });
      const clamped = steps.filter((s) => s.reclamp).map((s) => `${s.spindle} ${s.end}`);
      expect(new Set(clamped).size).toBe(clamped.length);
    }
  });

  it('blades that turn together take the time of a turn whenever the crank moves, and only then', () => {
    const task = taskFor('orrinshaw-106');
    const at = (spindle: number, headingDeg: number, end: 1 | -1) =>
      task.places.findIndex((p) => p.spindle === spindle && p.headingDeg === headingDeg && p.end === end);
    const pair = (b: number) => [at(0, 90, 1), b];
    const coupled = (offsetDeg: number, sense: 1 | -1) => ({
      ...task,
      cranks: [{ number: 0, offsetDeg: 0, sense: 1 } as const, { number: 0, offsetDeg, sense }],
    });
    // By hand: end A of the left blade points left. The same way: right end A points left as well, and end B right. Square
    // to it: end A points to the rear and end B forward. Geared against it from 0: end A points right. Then 2 x 28 s do,
    // and a turn of the crank takes 6 s more.
    const still = 56;
    const turns = 62;
    const alike = coupled(0, 1);
    expect(secondsInOrder(alike, pair(at(1, 90, 1)))).toBe(still);
    expect(secondsInOrder(alike, pair(at(1, -90, -1)))).toBe(still);
    expect(secondsInOrder(alike, pair(at(1, -90, 1)))).toBe(turns);
    const square = coupled(90, 1);
    expect(secondsInOrder(square, pair(at(1, 180, 1)))).toBe(still);
    expect(secondsInOrder(square, pair(at(1, 0, -1)))).toBe(still);
    expect(secondsInOrder(square, pair(at(1, 90, 1)))).toBe(turns);
    const against = coupled(0, -1);
    expect(secondsInOrder(against, pair(at(1, -90, 1)))).toBe(still);
    expect(secondsInOrder(against, pair(at(1, 90, 1)))).toBe(turns);
    expect(secondsInOrder(task, pair(at(1, -90, 1)))).toBe(still);
  });

  it('a timed deck is read in an order that lets its blades stand where it can', () => {
    const task = taskFor('cressidine-93');
    const { steps } = planFor('cressidine-93');
    // Whatever the timing, no reading of a plan is dearer than a clamping, a turn and a capture.
    expect(Math.max(...steps.map((s) => s.seconds))).toBeLessThanOrEqual(34);
    expect(steps.some((s) => s.reclamp && s.seconds === 28)).toBe(true);
    expect(task.cranks?.map((c) => c.offsetDeg)).toEqual([0, 90]);
  });
});

describe('the next reading', () => {
  const profile = loadProfile('quellbeck-133');
  const task = taskFor('quellbeck-133');
  const questions = measureQuestions(profile);
  const plane = planeOnTarget(task.layout, questions);
  const read = (levelMm: number): TipReading[] => {
    let placement = 0;
    const { steps } = planFor('quellbeck-133');
    return steps.map((step): TipReading => {
      if (step.reclamp) placement += 1;
      const [first] = pretend(task.layout, plane, [step], 0.02, [placement], [1]);
      const { yMm } = task.layout.spindles[step.spindle];
      const out = yMm + 230 * Math.sin((step.headingDeg * Math.PI) / 180);
      return { ...first, heightMm: first.heightMm + (levelMm * out) / 1330 };
    });
  };
  const waysAt = (levelMm: number) => {
    const taken = read(levelMm);
    return nextReadings(task, taken, solveTips(task.layout, taken, task.widths, task.questions));
  };

  it('a level just inside its limit is the less likely to be settled the nearer it is', () => {
    const chances = [2, 2.6, 3].map((level) => Math.max(...waysAt(level).map((w) => w.decides)));
    expect(chances[0]).toBeGreaterThan(chances[1]);
    expect(chances[1]).toBeGreaterThan(chances[2]);
  });

  it('offers to go on in this seating and to seat again, the better for its seconds first', () => {
    const ways = waysAt(2);
    expect(ways.map((w) => w.what).sort()).toEqual(['read on', 'seat again']);
    expect(ways[0].decides / ways[0].seconds).toBeGreaterThanOrEqual(ways[1].decides / ways[1].seconds);
    for (const way of ways) expect(way.decides).toBeGreaterThan(0.05);
  });
});
