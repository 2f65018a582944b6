/** The test that tells blade from shaft, as the job asks for it: on the simulated shop's machines, whose faults are known. */
import { describe, expect, it } from 'vitest';
import type { JobEvent } from '../../../host/ledger/events';
import { widthValues } from '../../../host/gauging/widths';
import { loadProfile } from '../../../host/machines/load';
import { refusal } from '../../../host/procedure/admit';
import { assess } from '../../../host/procedure/assess';
import { assumedValues, assumedWidths } from '../../../host/procedure/assumed-values';
import { apply, currentSetting, replay, type JobState } from '../../../host/procedure/state';
import { nextTask } from '../../../host/procedure/task';
import { sheetView } from '../../../host/views/sheet-view';
import { faultLines } from '../../../host/views/fault-view';
import { directJob } from '../../campaign/direct-job';

const profile = loadProfile('quellbeck-133');
const withFault = (kind: 'bent blade' | 'bent shaft', sequence: 'quick' | 'full') =>
  directJob(31, profile, {
    faults: [{ kind, spindle: 'left', differenceMm: 7 }],
    sequence,
    ways: { replaces: false },
  });
const shaft = withFault('bent shaft', 'full');

function stateAtRefit(): JobState {
  let state: JobState | undefined;
  for (const event of shaft.events) {
    if (event.type === 'blade refitted') break;
    state = apply(state, event);
  }
  if (state === undefined) throw new Error('the blade was never refitted');
  return state;
}

function viewOf(events: readonly JobEvent[]) {
  const stored = events.map((event, i) => ({
    writer: 'w',
    sequence: i + 1,
    at: '2026-01-01T00:00:00.000Z',
    event,
    hash: 'h',
  }));
  const stage = sheetView(stored)?.stages.at(-1);
  if (stage === undefined) throw new Error('nothing was read');
  return stage;
}

describe('refitting a blade half a turn round', () => {
  it.each(['quick', 'full'] as const)('names the part that was bent (%s sequence)', (sequence) => {
    const blade = viewOf(withFault('bent blade', sequence).events);
    expect(blade.faults.rows.map((r) => r.parts)).toEqual(['left blade bent']);
    const bent = viewOf(withFault('bent shaft', sequence).events);
    expect(bent.faults.rows.map((r) => r.parts)).toEqual(['left shaft bent or its hub face dirty']);
  });

  it('is asked once for a spindle; its readings say that the blade was refitted', () => {
    expect(shaft.events.filter((e) => e.type === 'blade refitted')).toEqual([
      { type: 'blade refitted', job: 1, spindle: 'left', answer: 'half a turn round' },
    ]);
    const at = shaft.events.findIndex((e) => e.type === 'blade refitted');
    const marked = (events: readonly JobEvent[]) =>
      events.flatMap((e) =>
        e.type === 'step asked' && e.target.kind === 'tip' && e.target.spindle === 'left' ? e.target : [],
      );
    expect(marked(shaft.events.slice(0, at)).every((t) => t.refitted === undefined)).toBe(true);
    expect(
      marked(shaft.events.slice(at))
        .map((t) => t.end)
        .sort(),
    ).toEqual(['A', 'B']);
    expect(marked(shaft.events.slice(at)).every((t) => t.refitted === true)).toBe(true);
  });

  it('fails the bend as it is now fitted, and says that turning cannot mend it', () => {
    expect(shaft.state.closed).toBe('fail');
    const stage = viewOf(shaft.events);
    const bend = stage.measures.find((m) => m.name === 'bend left');
    expect(Math.abs((bend?.valueMm ?? NaN) - shaft.shop.trueBendMm('left'))).toBeLessThan(
      1.5 * (bend?.expandedMm ?? NaN),
    );
    expect(stage.cannotMend).toEqual(['bend left']);
  });

  it('before it blade and shaft are named together, with the test and never with straightening', () => {
    const state = stateAtRefit();
    expect(nextTask(state)).toEqual({ do: 'refit blade', spindle: 'left' });
    const at = shaft.events.findIndex((e) => e.type === 'blade refitted');
    const text = faultLines(viewOf(shaft.events.slice(0, at)).faults).join('\n');
    expect(text).toContain('left blade bent, or left shaft bent or its hub face dirty');
    expect(text).toContain('refit the left blade half a turn round');
    expect(text).toContain('never straighten it, never fit it upside down');
  });

  it('may be left for another day: then the job goes on and both stay named', () => {
    const state = stateAtRefit();
    const no: JobEvent = { type: 'blade refitted', job: 1, spindle: 'left', answer: 'not now' };
    expect(refusal(state, { ...no, spindle: 'right' })?.number).toBe(406);
    expect(refusal(state, no)).toBeUndefined();
    const after = apply(state, no);
    expect(nextTask(after).do).not.toBe('refit blade');
    const setting = currentSetting(after);
    if (setting === undefined) throw new Error('no setting');
    expect(assess(after, setting).faults().findings[0]?.explanations.length).toBe(2);
  });

  it('is refused when it was not asked for', () => {
    const opened = replay(shaft.events.slice(0, 3));
    const refit: JobEvent = {
      type: 'blade refitted',
      job: 1,
      spindle: 'left',
      answer: 'half a turn round',
    };
    expect(refusal(opened, refit)).toBeDefined();
  });
});

describe('a good machine', () => {
  it('has nothing at fault', () => {
    const stage = viewOf(directJob(24, profile, { hangerErrorSdMm: 0.5 }).events);
    expect(stage.faults.rows.filter((r) => r.status !== 'within its limit')).toEqual([]);
    expect(stage.faults.adjustmentOnly).toBeGreaterThan(0.5);
    expect(stage.cannotMend).toEqual([]);
  });
});

describe('assumed values', () => {
  const widths = widthValues(60);
  /** A rule of the test's own: passes while floor and clamping together are small enough. */
  const decide = (most: number) => (w: typeof widths) => ({
    decision: w.floorMm + w.placementMm <= most ? ('pass' as const) : ('undecided' as const),
    jointProbability: 1,
    perMeasure: [],
    notDetermined: [],
  });

  it('names those whose doubling alone changes the decision', () => {
    // 1 mm of floor and 0.25 mm of clamping are assumed (widths.ts).
    expect(assumedValues(widths, assumedWidths(), decide(1.6))).toEqual({
      doubled: 'undecided',
      decisive: ['floorMm'],
    });
    expect(assumedValues(widths, assumedWidths(), decide(2.3))).toEqual({
      doubled: 'undecided',
      decisive: [],
    });
    expect(assumedValues(widths, assumedWidths(), decide(2.5))).toEqual({ doubled: 'pass', decisive: [] });
  });

  it('leaves alone what has been measured', () => {
    const measured = assumedWidths().filter((name) => name !== 'floorMm');
    expect(assumedValues(widths, measured, decide(1.6))).toEqual({ doubled: 'pass', decisive: [] });
  });
});
