/** What a job carries of the shop's instruments: widths of an accepted study, heights of the certificate, doubts of the check. */
import { describe, expect, test } from 'vitest';
import type { JobEvent } from '../../../host/ledger/events';
import { checkState, pointOf } from '../../../host/gauging/daily-check';
import { daysAfter, type Equipment } from '../../../host/gauging/equipment';
import { fixtureDoubts, gaugingKnown, type GaugingKnown } from '../../../host/gauging/known';
import type { PlacementStudy } from '../../../host/gauging/study/accept';
import { loadProfile } from '../../../host/machines/load';
import { refusal } from '../../../host/procedure/admit';
import { assess, masterErrorMm } from '../../../host/procedure/assess';
import { assumedWidths } from '../../../host/procedure/assumed-values';
import { capsOf } from '../../../host/procedure/caps';
import { jobWidths } from '../../../host/procedure/job-widths';
import { onMaster, replay } from '../../../host/procedure/state';
import { shopTrustLines } from '../../../host/views/gauging-words';
import { directJob } from '../../campaign/direct-job';

const { events } = directJob(6, loadProfile('orrinshaw-106'), { arrivalOnly: true, hangerErrorSdMm: 1 });
const fixtureId = events.flatMap((e) => (e.type === 'fixture joined' ? [e.fixture.fixtureId] : []))[0] ?? '';

function told(known: GaugingKnown) {
  const [opened, ...rest] = events;
  const event: JobEvent = { type: 'instruments known', job: 1, known };
  if (opened === undefined) throw new Error('no job');
  const state = replay([opened, event, ...rest]);
  const setting = state?.settings[0];
  if (state === undefined || setting === undefined) throw new Error('no job');
  const level = assess(state, setting).solution.measures.find((m) => m.name === 'level');
  return { state, u: level?.determined === true ? level.standardUncertaintyMm : NaN };
}

const study: PlacementStudy = {
  source: 'study 3',
  on: '2026-05-01',
  technicians: 3,
  tips: 6,
  repeats: 3,
  placementSdMm: 0.55,
  technicianSdMm: 0.2,
  degreesOfFreedom: 36,
  placementMm: 0.6,
};
const on = '2026-06-01';

test('each of two fixtures answers for itself; what is overdue is named, whatever kind it is', () => {
  const entry = (kind: Equipment['kind'], id: string, due: string): Equipment => ({
    ...{ id, kind, certificate: 'invented', laboratory: 'invented', calibratedOn: '2025-01-01', due },
    ...{ expandedUncertainty: 0.1, unit: '', values: kind === 'height master' ? [35, 85, 75, 125] : [] },
  });
  const others = (['level', 'pull scale', 'tyre gauge', 'thermometer', 'ballast'] as const).map((kind) =>
    entry(kind, `old ${kind}`, '2026-05-31'),
  );
  const good = pointOf(on, [0.01], [0.02]);
  const drifted = pointOf(on, [0.9], [0.9]);
  const known = gaugingKnown(
    [entry('height master', 'HM', '2027-01-01'), ...others, entry('level', 'new level', on)],
    [
      { fixtureId: 'ONE', checks: [good], calibration: { on: '2025-05-01', due: '2026-05-01' } },
      { fixtureId: 'TWO', checks: [drifted] },
    ],
    undefined,
    on,
  );
  expect(fixtureDoubts(known, 'ONE').join()).toContain('calibration of fixture ONE was due on 2026-05-01');
  expect(fixtureDoubts(known, 'ONE').join()).not.toContain('daily check');
  expect(fixtureDoubts(known, 'TWO').join()).toContain('daily check of fixture TWO out of control');
  expect(fixtureDoubts(known, 'THREE')).toEqual([]);
  expect(known.overdue?.map((e) => e.id)).toEqual(others.map((e) => e.id));
  const lines = shopTrustLines(known).join('\n');
  for (const { id, kind } of others)
    expect(lines.toLowerCase()).toContain(`${kind} ${id} was due on 2026-05-31`);
  expect(lines).not.toContain('new level');
});

test('a fixture that knows only its drawing decides nothing', () => {
  const drawn = events.map((e) =>
    e.type === 'fixture joined'
      ? { ...e, calibrations: e.calibrations.map((c) => ({ ...c, setOnDay: 0 })) }
      : e,
  );
  const state = replay(drawn);
  if (state === undefined) throw new Error('no job');
  expect(capsOf(state).join()).toContain('was never calibrated');
  expect(capsOf(told({ on, fixtures: [] }).state).join()).not.toContain('was never calibrated');
});

describe('a job that was told', () => {
  test('nothing: solves to the same bits as one from before there was a register', () => {
    const plain = replay(events);
    const setting = plain?.settings[0];
    if (plain === undefined || setting === undefined) throw new Error('no job');
    const { state } = told({ on, fixtures: [] });
    expect(assess(state, state.settings[0] ?? setting).solution).toEqual(assess(plain, setting).solution);
    expect(capsOf(state)).toEqual(capsOf(plain));
  });

  test('of a study that found clampings poor: is less sure of level, and no longer assumes that width', () => {
    const { state, u } = told({ on, fixtures: [], placement: study });
    expect(u).toBeGreaterThan(1.05 * told({ on, fixtures: [] }).u);
    expect(jobWidths(state, 60).placementMm).toBe(0.6);
    // Technicians differ by 0.2 mm beside the assumed 0.1 mm of the fixture's zero.
    expect(jobWidths(state, 60).offsetMm).toBeCloseTo(Math.sqrt(0.1 ** 2 + 0.2 ** 2), 12);
    expect(assumedWidths(state)).not.toContain('placementMm');
    expect(told({ on, fixtures: [], placement: study }).u).toBe(u);
  });

  test('of a certificate: counts from its heights', () => {
    const master = {
      name: 'HM-1',
      edges: [
        { lowMm: 35.1, highMm: 85.1 },
        { lowMm: 75.1, highMm: 125.1 },
      ],
    } as const;
    const { state } = told({ on, fixtures: [], master });
    const reading = onMaster(state)[0];
    if (reading === undefined) throw new Error('no reading on the master');
    expect(masterErrorMm(reading, undefined) - masterErrorMm(reading, state.instruments)).toBeCloseTo(0.1, 9);
  });

  test.each([
    ['out of control', { state: 'out of control', on, why: 'reads off by 0.30 mm' }, 'out of control'],
    ['overdue', { state: 'overdue', on: '2026-05-01', why: 'last checked on 2026-05-01' }, 'overdue'],
  ] as const)('of a check that is %s: cannot call a pass', (_, check, text) => {
    expect(capsOf(told({ on, fixtures: [{ fixtureId, check }] }).state).join()).toContain(text);
    expect(capsOf(told({ on, fixtures: [{ fixtureId: 'another', check }] }).state).join()).not.toContain(
      text,
    );
  });

  test('of a calibration past its date: cannot call a pass', () => {
    const fixtures = [{ fixtureId, calibration: { on: '2025-01-01', due: '2026-01-01' } }];
    expect(capsOf(told({ on, fixtures }).state).join()).toContain('was due on 2026-01-01');
  });

  test('after the first reading: is refused', () => {
    const event: JobEvent = { type: 'instruments known', job: 1, known: { on, fixtures: [] } };
    expect(refusal(replay(events), event)?.number).toBe(406);
  });
});

test('a check is in control, out of control after a step, and overdue when nobody checks', () => {
  const days = (count: number, errorMm: number, from = 0) =>
    Array.from({ length: count }, (_, i) =>
      // Up and down by 0.02 mm in turn, so that the chart has a spread to learn.
      pointOf(daysAfter(on, from + i), [errorMm + (i % 2) * 0.02], [errorMm + (i % 2) * 0.02]),
    );
  const good = days(25, 0.05);
  const last = daysAfter(on, 24);
  expect(checkState(good, last)?.state).toBe('in control');
  expect(checkState(good, daysAfter(last, 5))?.state).toBe('overdue');
  const moved = [...good, ...days(1, 0.27, 25)];
  expect(checkState(moved, daysAfter(last, 1))?.state).toBe('out of control');
  expect(checkState(moved, daysAfter(last, 1))?.why).toContain('calibrate');
  const gain = [...good, pointOf(daysAfter(last, 1), [-0.15], [0.25])];
  expect(checkState(gain, daysAfter(last, 1))?.why).toContain('edges');
  expect(checkState([], on)).toBeUndefined();
});
