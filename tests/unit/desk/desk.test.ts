import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import type { Bench } from '../../../host/desk/bench';
import { openDesk, type Desk } from '../../../host/desk/desk';
import type { JobOrder } from '../../../host/desk/order';
import { numberedError } from '../../../host/errors/errors';
import { openLedger } from '../../../host/ledger/ledger';
import type { Checklist } from '../../../host/machines/checklist';
import { replay } from '../../../host/procedure/state';

/** A bay whose fixture is not plugged in; `meanwhile` happens while it is looked for. */
let meanwhile = () => {};
const BARE: Bench = {
  simulated: true,
  takeUp: (_, hands) => {
    meanwhile();
    return Promise.resolve({ openLinks: [], hands });
  },
  sit: () => Promise.reject(numberedError('no fixture found')),
  close: () => Promise.resolve(),
};
const ORDER: JobOrder = {
  use: 'inspection',
  model: 'Pimwick 76',
  serialNumber: '',
  workOrder: '',
  technician: '',
};
const CHECK = { use: 'check', technician: '' } as const;

let folder: string;
let desk: Desk;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'swathplane-desk-'));
  const log = join(folder, 'bay.swathplane-log');
  const ledger = openLedger(log, { writer: 'bay 1', now: () => new Date() });
  desk = openDesk({ name: 'bay 1', ledger, bench: BARE });
});
afterEach(async () => {
  meanwhile = () => {};
  await desk.close();
  rmSync(folder, { recursive: true });
});

it('while a check is open no job is: E511, and nothing of it stands in the log', async () => {
  desk.sessions.begin(CHECK);
  const before = desk.ledger.rawEvents(0, 100).length;
  expect(() => desk.open(ORDER)).toThrow('E511');
  expect(() => desk.sessions.begin(CHECK)).toThrow('E511');
  expect(desk.ledger.jobs()).toEqual([]);
  expect(desk.ledger.rawEvents(0, 100)).toHaveLength(before);
  await desk.sessions.leave();
  expect(desk.open(ORDER)).toBe(1);
});

it('what the shop has settled goes into every job: its list where it is meant for the use, plates, times', async () => {
  const { ledger } = desk;
  const item = { id: 'belt', text: 'Belt looked at' };
  const checklist: Checklist = {
    format: 'swathplane-checklist/1',
    name: 'invented list',
    uses: ['inspection'],
    beforeMeasuring: [item],
    beforeDelivery: [],
  };
  const plate = { thicknessMm: 6, expandedUncertaintyMm: 0.05 };
  const readingCosts = { clampS: 30, turnS: 6, raiseClampS: 45, captureS: 3 };
  desk = openDesk({ name: 'bay 1', ledger, bench: BARE, shop: { checklist, plate, readingCosts } });
  const opened = async (order: JobOrder) => {
    const job = desk.open(order);
    await desk.leave();
    return replay(ledger.events(job).map((e) => e.event));
  };
  const inspection = await opened(ORDER);
  expect(inspection).toMatchObject({ plate, readingCosts, checklist: { beforeMeasuring: [item] } });
  const levelling = await opened({ ...ORDER, use: 'levelling' });
  expect(levelling).toMatchObject({ plate, readingCosts });
  expect(levelling?.checklist).toBeUndefined();
  // There is no laser spot under a ruler.
  expect((await opened({ ...ORDER, rulerMm: 1.5 }))?.plate).toBeUndefined();
});

it('while a job is in hand no other is, and no check', () => {
  const job = desk.open(ORDER);
  expect(() => desk.open(ORDER)).toThrow('E511');
  expect(() => desk.resume(job)).toThrow('E511');
  expect(() => desk.sessions.begin(CHECK)).toThrow('E511');
  expect(desk.ledger.jobs()).toHaveLength(1);
});

it('two screens that put something right at the same moment are both heard', async () => {
  const job = desk.open(ORDER);
  const to = ['Ola Invented', 'Karl Invented'];
  await Promise.all(to.map((name) => desk.putRight(job, [{ type: 'handed over', job, to: name }])));
  const handed = desk.ledger
    .events(job)
    .flatMap(({ event }) => (event.type === 'handed over' ? [event.to] : []));
  expect(handed).toEqual(to);
  expect(desk.screen().job?.job).toBe(job);
});

it('a job is laid aside also while its fixture is still being looked for, and taken up again', async () => {
  const left = new Promise<void>((resolve) => {
    meanwhile = () => void desk.leave().then(resolve);
  });
  const job = desk.open(ORDER);
  await left;
  expect(desk.screen()).toMatchObject({ job: null, bay: { openJobs: [{ job }] } });
  meanwhile = () => {};
  desk.resume(job);
  expect(desk.screen().job?.job).toBe(job);
});

it('while it holds the log, a command that would write is refused by number and told what to end', () => {
  const { status, stderr } = spawnSync(
    process.execPath,
    ['build/host/swathplane.js', 'customer', '1', '--name', 'Nobody', '--log', desk.ledger.path],
    { encoding: 'utf8' },
  );
  expect(status).toBe(3);
  expect(stderr).toMatch(/^E251: .*the page of this bay.*\n {2}Next: end it first \(Control-C where/);
});
