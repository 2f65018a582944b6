/** The job as a reducer. Machines, floors and technicians are the simulated shop's; the rules are the job's own. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { JobEvent } from '../../../host/ledger/events';
import { loadProfile } from '../../../host/machines/load';
import { refusal } from '../../../host/procedure/admit';
import { assess } from '../../../host/procedure/assess';
import { bothEnds } from '../../../host/procedure/reading-plan';
import {
  apply,
  currentSetting,
  replay,
  standing,
  type JobState,
  type Reading,
} from '../../../host/procedure/state';
import { nextTask } from '../../../host/procedure/task';
import { sheetView } from '../../../host/views/sheet-view';
import { directJob } from '../../campaign/direct-job';

const profile = loadProfile('quellbeck-133');
/** The body of a capture of a fixture. */
const captureOf = (reading: Reading | undefined) => {
  if (reading?.by !== 'fixture') throw new Error('not a capture');
  return reading.capture;
};
const { events, state: finished } = directJob(24, profile, { wrongTipProbability: 0.1 });

/** The states that the job went through, before each event. */
function statesBefore(all: readonly JobEvent[]): { before: JobState; event: JobEvent }[] {
  let state: JobState | undefined;
  const pairs: { before: JobState; event: JobEvent }[] = [];
  for (const event of all) {
    if (state !== undefined) pairs.push({ before: state, event });
    state = apply(state, event);
  }
  return pairs;
}

describe('replay', () => {
  it('gives the same state and the same sheet to the bit', () => {
    expect(JSON.stringify(replay(events))).toBe(JSON.stringify(finished));
    const stored = events.map((event, i) => ({
      writer: 'w',
      sequence: i + 1,
      at: '2026-01-01T00:00:00.000Z',
      event,
      hash: 'h',
    }));
    const again = JSON.parse(JSON.stringify(stored)) as typeof stored;
    expect(JSON.stringify(sheetView(again))).toBe(JSON.stringify(sheetView(stored)));
  });
});

describe('what may happen when', () => {
  it('a job is closed by no event before its closing readings, in no state that it goes through', () => {
    for (const { before, event } of statesBefore(events)) {
      for (const decision of ['pass', 'fail', 'undecided'] as const) {
        const close: JobEvent = { type: 'job closed', job: 1, decision };
        const refused = refusal(before, close);
        if (refused === undefined) expect(event).toEqual(close);
        else expect([401, 402, 406]).toContain(refused.number);
      }
    }
    const last = statesBefore(events).at(-1)?.before;
    const closing =
      last?.readings.filter((r) => r.target.kind === 'master' && r.target.when === 'closing') ?? [];
    expect(closing.map((r) => r.number).sort()).toEqual(
      last?.readings
        .slice(-2)
        .map((r) => r.number)
        .sort(),
    );
  });

  it('a job that only waits for its closing reading says that the fixture may still be on the blade (E402)', () => {
    const waiting = statesBefore(events).find(({ before }) => {
      const task = nextTask(before);
      return task.do === 'read' && task.target.kind === 'master' && task.target.when === 'closing';
    });
    if (waiting === undefined) throw new Error('the job has no closing reading');
    expect(refusal(waiting.before, { type: 'job closed', job: 1, decision: 'pass' })?.number).toBe(402);
  });

  it('nothing is measured before the cautions are confirmed (E401), and a capture is kept in every state', () => {
    const capture = captureOf(finished.readings[0]);
    const first = statesBefore(events)[0]?.before;
    expect(
      refusal(first, {
        type: 'step asked',
        job: 1,
        step: 1,
        target: { kind: 'master', edge: 'low', when: 'opening' },
      })?.number,
    ).toBe(401);
    for (const { before } of statesBefore(events)) {
      expect(refusal(before, { type: 'captured', job: 1, fixtureId: 'direct', capture })).toBeUndefined();
    }
  });

  it('events in a random order never close a job without closing readings and never lose a capture', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(events.length - 1), { maxLength: 200 }), (order) => {
        let state = apply(undefined, events[0]);
        let captures = 0;
        for (const i of order) {
          const event = events[i];
          if (refusal(state, event) !== undefined) continue;
          state = apply(state, event);
          if (event.type === 'captured') captures += 1;
          if (state.closed === undefined) nextTask(state);
        }
        expect(state.readings.length + state.foreign.length).toBe(captures);
        expect(state.closed).toBeUndefined();
      }),
      { numRuns: 100, seed: 5 },
    );
  });
});

describe('readings', () => {
  it('a capture of another job is kept apart and changes no result', () => {
    const before = replay(events.slice(0, -1)) as JobState;
    const setting = currentSetting(before);
    const capture = captureOf(finished.readings.at(-3));
    if (setting === undefined) throw new Error('no readings');
    const after = apply(before, {
      type: 'captured',
      job: 1,
      fixtureId: 'direct',
      capture: { ...capture, job: 2, capture: 999 },
    });
    expect(after.foreign).toHaveLength(1);
    expect(assess(after, setting).solution).toEqual(assess(before, setting).solution);
  });

  it('a reading on the wrong tip is questioned, set aside and read again', () => {
    const aside = events.filter((e) => e.type === 'set aside');
    expect(aside.length).toBeGreaterThan(0);
    expect(finished.readings.filter((r) => r.setAside !== undefined)).toHaveLength(aside.length);
  });

  it('a reading on the wrong edge of the height master is questioned at once', () => {
    const i = events.findIndex((e) => e.type === 'captured');
    const first = events[i];
    if (first?.type !== 'captured') throw new Error('no readings');
    const asked = events[i - 1];
    if (asked?.type !== 'step asked') throw new Error('no step');
    const wrong: JobEvent = { ...asked, target: { kind: 'master', edge: 'high', when: 'opening' } };
    expect(asked.target).toEqual({ ...wrong.target, edge: 'low' });
    const state = replay([...events.slice(0, i - 1), wrong, first]) as JobState;
    const task = nextTask(state);
    expect(task).toMatchObject({ do: 'check reading', against: 'the edge' });
    // The low head's edges are 35 and 85 mm high: 50 mm apart, within the fixture's own error.
    if (task.do === 'check reading') expect(task.offByMm).toBeCloseTo(-50, 0);
  });

  it('that was taken with an older calibration stays in use when the fixture joins again with a newer one', () => {
    const before = replay(events.slice(0, -1)) as JobState;
    const setting = currentSetting(before);
    const join = events.find((e) => e.type === 'fixture joined');
    if (setting === undefined || join?.type !== 'fixture joined') throw new Error('no fixture');
    const newer = join.calibrations.map((c) => ({ ...c, version: 2, edgeZ: c.edgeZ + 500 }));
    const after = apply(before, { ...join, calibrations: newer });
    expect(after.fixtures[0]?.calibrations).toEqual([...join.calibrations, ...newer]);
    expect(assess(after, setting)).toBe(assess(before, setting));

    // One that comes late, taken before the new calibration: its height comes out by the old one.
    const late = finished.readings.at(-3);
    if (late === undefined) throw new Error('no readings');
    const { fixtureId } = late;
    const capture = captureOf(late);
    const fetched = apply(after, {
      type: 'captured',
      job: 1,
      fixtureId,
      capture: { ...capture, capture: 999 },
    });
    expect(standing(fetched).at(-1)).toMatchObject({
      capture: { capture: 999 },
      calibration: { version: 1 },
    });
  });

  it('whose height does not come out again is kept, shown and not used, until its calibration is on record', () => {
    const before = replay(events.slice(0, -1)) as JobState;
    const setting = currentSetting(before);
    const join = events.find((e) => e.type === 'fixture joined');
    const capture = captureOf(finished.readings.at(-3));
    if (setting === undefined || join?.type !== 'fixture joined') throw new Error('no readings');
    const unknown = { ...capture, capture: 998, calibrationVersion: 2 };
    const wrongHeight = { ...capture, capture: 999, height: capture.height + 1 };
    const taken = [unknown, wrongHeight].map((c): JobEvent => ({
      type: 'captured',
      job: 1,
      fixtureId: 'direct',
      capture: c,
    }));
    const after = taken.reduce(apply, before);
    expect(after.readings.slice(-2).map(captureOf)).toEqual([unknown, wrongHeight]);
    expect(standing(after)).toEqual(standing(before));
    expect(assess(after, setting).solution).toEqual(assess(before, setting).solution);
    const stored = [...events.slice(0, -1), ...taken].map((event, i) => ({
      ...{ writer: 'w', sequence: i + 1, at: '2026-01-01T00:00:00.000Z', hash: 'h' },
      event,
    }));
    const shown = sheetView(stored)?.readings.slice(-2);
    expect(shown?.map((r) => r.setAside)).toEqual(Array(2).fill(expect.stringContaining('computed again')));

    const later = { ...join, calibrations: join.calibrations.map((c) => ({ ...c, version: 2 })) };
    const usable = apply(after, later);
    expect(standing(usable).slice(standing(before).length)).toMatchObject([{ capture: { capture: 998 } }]);
    expect(assess(usable, setting).readings).toHaveLength(assess(before, setting).readings.length + 1);
  });

  it('every declared tip that can be reached is in the plan, and no blocked one', () => {
    const staggered = loadProfile('orrinshaw-106');
    const plan = bothEnds(staggered, true);
    for (const measure of staggered.measures) {
      if (measure.what !== 'tips') continue;
      for (const term of measure.terms) {
        const read = plan.filter((t) => t.spindle === term.spindle && t.headingDeg === term.headingDeg);
        expect(read.map((t) => t.end).sort()).toEqual(['A', 'B']);
      }
    }
    const right = staggered.spindles.find((s) => s.name === 'right');
    expect(right?.blockedArcsDeg).toEqual([[-75, -40]]);
    expect(plan.filter((t) => t.spindle === 'right' && t.headingDeg > -75 && t.headingDeg < -40)).toEqual([]);
  });
});
