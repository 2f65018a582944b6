/** The four uses as paths through one procedure, and what a job does when there is no fixture. The truth is the simulated shop's. */
import { describe, expect, it } from 'vitest';
import type { JobEvent, Use } from '../../../host/ledger/events';
import { parseChecklist } from '../../../host/machines/checklist';
import { listProfiles, loadProfile } from '../../../host/machines/load';
import { refusal } from '../../../host/procedure/admit';
import { eventsFor } from '../../../host/procedure/answer';
import { capsOf } from '../../../host/procedure/caps';
import { carriedFrom, isCarried } from '../../../host/procedure/preparation';
import { apply, replay, type JobState } from '../../../host/procedure/state';
import { nextTask } from '../../../host/procedure/task';
import { claimOffers } from '../../../host/views/claim-view';
import { sheetView } from '../../../host/views/sheet-view';
import { directJob, type DirectOptions } from '../../campaign/direct-job';

const profile = loadProfile('orrinshaw-106');
const OUT = { hangerErrorSdMm: 5 };
const typesOf = (events: readonly JobEvent[]) => new Set(events.map((e) => e.type));
const stored = (events: readonly JobEvent[]) =>
  events.map((event, i) => ({
    ...{ writer: 'w', sequence: i + 1, at: '2026-01-01T00:00:00.000Z', hash: 'h' },
    event,
  }));
const jobOf = (use: Use, options: DirectOptions = {}) =>
  directJob(7, profile, {
    use,
    sequence: use === 'diagnosis' || use === 'warranty' ? 'full' : 'quick',
    ...options,
  });

describe('the four uses', () => {
  it('an inspection of a good machine feels no hanger, turns nothing and closes with a pass', () => {
    const { events, state } = jobOf('inspection', { hangerErrorSdMm: 0.2, bendSdMm: 0.1 });
    expect(state.closed).toBe('pass');
    const types = typesOf(events);
    for (const type of ['hanger felt', 'turned', 'levelling offered'] as const)
      expect(types).not.toContain(type);
  });

  it('an inspection that fails offers levelling once; what is left is left as it is', () => {
    const { events, state, shop } = jobOf('inspection', OUT);
    expect(events.filter((e) => e.type === 'levelling offered')).toHaveLength(1);
    expect(typesOf(events)).toContain('turned');
    expect(state.closed).toBe('pass');
    for (const m of profile.measures) {
      expect(shop.trueMeasureMm(m.name)).toBeGreaterThan(m.lowerMm);
      expect(shop.trueMeasureMm(m.name)).toBeLessThan(m.upperMm);
    }
    const at = events.findIndex((e) => e.type === 'levelling offered');
    const before = replay(events.slice(0, at)) as JobState;
    const left = apply(before, { type: 'levelling offered', job: 1, answer: 'leave it' });
    expect(nextTask(left)).toMatchObject({ do: 'read', target: { kind: 'master', when: 'closing' } });
  });

  it('a diagnosis finds the shaft by its test, has it replaced, and reads again', () => {
    const faults = [{ kind: 'bent shaft', spindle: 'left', differenceMm: 7 }] as const;
    const { events, state, shop } = jobOf('diagnosis', { hangerErrorSdMm: 0.3, faults });
    expect(events).toContainEqual(
      expect.objectContaining({
        type: 'part decided',
        spindle: 'left',
        part: 'shaft or hub',
        answer: 'replaced',
      }),
    );
    expect(state.settings.map((s) => s.stage)).toContain('after repair');
    expect(Math.abs(shop.trueBendMm('left'))).toBeLessThan(3);
    expect(state.closed).toBe('pass');
  });

  it.each([
    ['bent blade', 'blade'],
    ['bent shaft', 'shaft or hub'],
  ] as const)('where the blade cannot be refitted, a good blade tells: %s', (kind, part) => {
    const faults = [{ kind, spindle: 'left', differenceMm: 7 }] as const;
    const { events } = jobOf('diagnosis', { hangerErrorSdMm: 0.3, faults, ways: { refits: false } });
    expect(events).toContainEqual(expect.objectContaining({ type: 'blade swapped', answer: 'swapped' }));
    const decided = events.filter((e) => e.type === 'part decided').map((e) => e.part);
    // With the good blade on, a bent blade's machine is in order and there is nothing left to decide.
    expect(decided).toEqual(part === 'blade' ? [] : [part]);
  });

  it('a spindle that stands high is pushed and pulled, and its play is on the record', () => {
    const faults = [{ kind: 'high spindle', spindle: 'left', heightMm: 9 }] as const;
    const { events } = jobOf('diagnosis', { hangerErrorSdMm: 0.3, faults, playMm: 0.8 });
    const tried = events.find((e) => e.type === 'pushed and pulled');
    expect((tried?.highMm ?? NaN) - (tried?.lowMm ?? NaN)).toBeCloseTo(0.8, 6);
    const asked = events.findIndex((e) => e.type === 'pushed and pulled');
    expect(events.slice(0, asked).some((e) => e.type === 'step asked' && e.target.kind === 'watch')).toBe(
      true,
    );
  });

  it('a warranty job asks for the claim first and last, and offers only what the readings support', () => {
    const faults = [{ kind: 'bent blade', spindle: 'left', differenceMm: 7 }] as const;
    const { events, state } = jobOf('warranty', { ...OUT, faults });
    const fields = events.flatMap((e) => (e.type === 'claim stated' ? [e.field] : []));
    expect(fields).toEqual(['complaint', 'hour meter', 'delivered on', 'cause', 'correction', 'parts']);
    const offers = claimOffers(state, 'cause').join(' ');
    expect(offers).toContain('left blade bent');
    expect(offers).not.toMatch(/neglig|neglect|impact|abuse|misuse/i);
    expect(claimOffers(state, 'correction').join()).toContain('blade replaced');
    const view = sheetView(stored(events));
    expect(view?.claim.map((c) => c.field)).toEqual(fields);
  });
});

describe('turning by the live height', () => {
  it('brings the deck inside although every ratio is a quarter off, and teaches no ratio', () => {
    const { events, state, shop } = jobOf('levelling', { ...OUT, ratioSd: 0.25, ways: { live: true } });
    const turned = events.filter((e) => e.type === 'turned');
    expect(turned.length).toBeGreaterThan(0);
    expect(turned.every((e) => e.live === true)).toBe(true);
    expect(state.settings.filter((s) => s.turned.length > 0)).toHaveLength(1);
    for (const m of profile.measures.filter((m) => m.what === 'tips')) {
      expect(shop.trueMeasureMm(m.name)).toBeGreaterThan(m.lowerMm);
      expect(shop.trueMeasureMm(m.name)).toBeLessThan(m.upperMm);
    }
  });
});

describe('without a fixture', () => {
  it('everything is read with a ruler and says so; what a ruler cannot tell stays undecided', () => {
    const { events, state } = jobOf('levelling', { ...OUT, ruler: true });
    expect(state.fixtures).toEqual([]);
    expect(state.readings.length).toBeGreaterThan(5);
    expect(state.readings.every((r) => r.by === 'ruler' && r.expandedMm === 1.5)).toBe(true);
    const view = sheetView(stored(events));
    expect(view?.byRuler).toBe(true);
    expect(view?.course.join()).toContain('read with a ruler');
    const level = view?.stages.at(-1)?.measures.find((m) => m.name === 'level');
    // Each side is read four times at most, each with u = 0.75 mm; the difference of the two means is not better: GUM 5.1.2.
    expect((level?.expandedMm ?? 0) / 2).toBeGreaterThan(0.75 * Math.SQRT2 * 0.5);
  });
});

const CHECKLIST = parseChecklist(
  JSON.stringify({
    format: 'swathplane-checklist/1',
    name: 'invented shop',
    beforeMeasuring: [{ id: 'chocks', text: 'Chocks against both rear wheels', gate: true }],
    beforeDelivery: [
      { id: 'torque', text: 'Blade bolts', number: { unit: 'N m', lower: 90, upper: 110 } },
      {
        id: 'interlock',
        text: 'Seat switch stops the blades',
        choice: { of: ['stops', 'runs on'], notGood: ['runs on'] },
      },
    ],
  }),
  'test',
);

/** The events of a job with that checklist, the machine before's answers carried, up to a task. */
function until(wanted: (state: JobState) => boolean): JobState {
  const first = jobOf('inspection', { hangerErrorSdMm: 0.2, bendSdMm: 0.1 });
  const opened = first.events[0];
  if (opened.type !== 'job opened') throw new Error('no job');
  let state = apply(undefined, { ...opened, checklist: CHECKLIST, carried: carriedFrom(first.state) });
  for (const event of first.events.slice(1)) {
    for (;;) {
      if (wanted(state)) return state;
      const task = nextTask(state);
      if (task.do === 'carry over') state = eventsFor(task, 'the same', state).reduce(apply, state);
      else if (task.do === 'prepare')
        state = eventsFor(task, task.item.number === undefined ? 'yes' : 100, state).reduce(apply, state);
      else break;
    }
    if (event.type !== 'prepared' && refusal(state, event) === undefined) state = apply(state, event);
  }
  return state;
}

describe('preparation', () => {
  it('carries the answers of the machine before with one key, and shows them as carried', () => {
    const state = until((s) => s.cautionsConfirmed && nextTask(s).do === 'carry over');
    const carried = until((s) => nextTask(s).do === 'join fixture' || s.fixtures.length > 0);
    expect(Object.keys(state.prepared)).toEqual([]);
    const { id } = profile.preparation[0] ?? { id: '' };
    expect(isCarried(carried, id)).toBe(true);
    // From the scan to the first reading: cautions, carried lines, and the one gate that the shop added.
    expect(Object.keys(carried.prepared).filter((key) => !isCarried(carried, key))).toEqual(['chocks']);
  });

  it('a gate is asked until it is in order', () => {
    const state = until((s) => {
      const task = nextTask(s);
      return task.do === 'prepare' && task.item.id === 'chocks';
    });
    const no = apply(state, { type: 'prepared', job: 1, item: 'chocks', answer: 'no' });
    expect(nextTask(no)).toMatchObject({ do: 'prepare', item: { id: 'chocks' } });
  });

  it('no machine is measured while its blades are loose: the item is a gate in every profile', () => {
    for (const p of listProfiles())
      expect(p.preparation.filter((i) => i.gate === true).map((i) => i.id)).toEqual([
        expect.stringContaining('blades-tight'),
      ]);
  });

  it('casters that carry unequally cap the result', () => {
    const { state } = jobOf('inspection', { hangerErrorSdMm: 0.2, bendSdMm: 0.1 });
    expect(capsOf({ ...state, casterShimMm: 1.5 })).toEqual([]);
    expect(capsOf({ ...state, casterShimMm: -4.2 }).join()).toContain('4.2 mm under the right one');
  });

  it('what is to be looked at before delivery comes after the closing readings and caps the result', () => {
    const state = until((s) => {
      const task = nextTask(s);
      return task.do === 'prepare' && task.item.id === 'torque';
    });
    expect(state.readings.at(-1)?.target).toMatchObject({ kind: 'master', when: 'closing' });
    const loose = apply(state, { type: 'prepared', job: 1, item: 'torque', answer: 60 });
    const answered = apply(loose, {
      type: 'prepared',
      job: 1,
      item: 'interlock',
      answer: { chosen: 'runs on' },
    });
    expect(nextTask(answered)).toMatchObject({
      do: 'close',
      decision: 'undecided',
      caps: ['not in order: Blade bolts', 'not in order: Seat switch stops the blades'],
    });
    // A wrong answer is put right by another; both stay in the log.
    const again: JobEvent = { type: 'prepared', job: 1, item: 'torque', answer: 100 };
    expect(refusal(answered, again)).toBeUndefined();
    expect(nextTask(apply(answered, again))).toMatchObject({
      caps: ['not in order: Seat switch stops the blades'],
    });
  });
});

describe('a checklist file', () => {
  const list = { format: 'swathplane-checklist/1', name: 'x', beforeMeasuring: [], beforeDelivery: [] };
  const fault = (change: object): string => {
    try {
      parseChecklist(JSON.stringify({ ...list, ...change }), 'list.json');
      return 'accepted';
    } catch (error) {
      return (error as Error).message;
    }
  };

  it('is refused with its number, the place and the next step', () => {
    expect(() => parseChecklist('{"format": ', 'list.json')).toThrow(/^E311.*list.json, line 1/);
    expect(
      fault({ beforeDelivery: [{ id: 'a', text: 'A', number: { unit: 'mm', lower: 2, upper: 1 } }] }),
    ).toMatch(/^E312.*lower limit 2 is above/);
    expect(
      fault({
        beforeMeasuring: [
          { id: 'a', text: 'A' },
          { id: 'a', text: 'B' },
        ],
      }),
    ).toMatch(/^E312.*'a'/);
    expect(fault({ colour: 'red' })).toMatch(/^E311.*colour/);
  });
});
