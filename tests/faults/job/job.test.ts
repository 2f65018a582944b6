/** Whole jobs that are hurt on the way. Each must end in a closed job with every capture in the log exactly once. */
import { afterEach, expect, it } from 'vitest';
import { openLedgerForReading } from '../../../host/ledger/ledger';
import { encodeFrame } from '../../../protocol/wire';
import type { JobState } from '../../../host/procedure/state';
import { nastyAt, openTrial, type Trial } from './bay';

let trial: Trial;
afterEach(() => trial.close());

/** The captures of the log, checked: numbered without gap or double, and as many as the state says. */
function capturesOf({ path }: Trial, state: JobState): number[] {
  const log = openLedgerForReading(path);
  log.verify();
  const numbers = log
    .events()
    .flatMap(({ event }) => (event.type === 'captured' ? [event.capture.capture] : []));
  log.close();
  const sorted = [...numbers].sort((a, b) => a - b);
  expect(sorted).toEqual(sorted.map((_, i) => (sorted[0] ?? 0) + i));
  expect(state.readings.length + state.foreign.length).toBe(numbers.length);
  return numbers;
}

it('the cable is pulled in the middle of the job (E206): it goes on when the cable is back', async () => {
  trial = await openTrial(1);
  const hands = nastyAt(6, ({ fixture }) => {
    fixture.unplug();
    setTimeout(() => fixture.plugIn(), 300);
  });
  const state = await trial.work(hands);
  expect(state.closed).toBeDefined();
  capturesOf(trial, state);
  expect(trial.notices.some((n) => n.startsWith('E206'))).toBe(true);
  expect(trial.notices).toContain('FIXTURE ON BLADE: do not start');
  expect(state.lost).toEqual([]);
});

it('the fixture restarts while a capture settles (E210): the reading is asked for again', async () => {
  trial = await openTrial(2);
  const hands = nastyAt(5, ({ fixture }) => setTimeout(() => fixture.powerCycle(), 20));
  const state = await trial.work(hands);
  expect(state.closed).toBeDefined();
  capturesOf(trial, state);
  expect(trial.notices.some((n) => n.startsWith('E210'))).toBe(true);
});

it('power fails while the capture is being stored: nothing is lost, nothing counts twice', async () => {
  trial = await openTrial(3);
  const hands = nastyAt(7, ({ fixture }) => {
    fixture.cutPowerAfterStoring(60);
    setTimeout(() => fixture.plugIn(), 600);
  });
  const state = await trial.work(hands);
  expect(state.closed).toBeDefined();
  capturesOf(trial, state);
});

it('the host stops in the middle of the job and starts again: it goes on where it was', async () => {
  trial = await openTrial(4);
  const stop = nastyAt(8, () => {
    throw new Error('host stopped');
  });
  await expect(trial.work(stop)).rejects.toThrow('host stopped');
  const state = await trial.work();
  expect(state.closed).toBeDefined();
  // Stopped before the eighth reading; the rest came after it.
  expect(capturesOf(trial, state).length).toBeGreaterThan(8);
});

it('the disk is full (E254): what was acknowledged is there, the fixture keeps the rest, the job goes on with room', async () => {
  trial = await openTrial(5);
  await expect(trial.work(undefined, 45_000)).rejects.toMatchObject({ number: 254 });
  const log = openLedgerForReading(trial.path);
  const before = log.events().filter(({ event }) => event.type === 'captured').length;
  log.close();
  const state = await trial.work();
  expect(state.closed).toBeDefined();
  expect(capturesOf(trial, state).length).toBeGreaterThan(before);
});

it('a capture of another job that waited in the fixture is kept apart (E212)', async () => {
  trial = await openTrial(6);
  const { bay } = trial;
  // A host that arms for job 77, triggers, and leaves before it has acknowledged.
  const port = await bay.fixture.openPort();
  const arm = { job: 77, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 50 };
  bay.shop.technician.putOnMaster('low');
  port.write(Buffer.from(encodeFrame({ name: 'arm', sequence: 1, body: arm })));
  await until(() => bay.fixture.laserOn && bay.fixture.nowUs / 1000 > bay.shop.elapsedMs);
  port.write(Buffer.from(encodeFrame({ name: 'capture', sequence: 2, body: {} })));
  const taken = bay.fixture.nowUs + 5e6;
  await until(() => bay.fixture.nowUs > taken);
  await new Promise<void>((resolve) => port.close(() => resolve()));
  const state = await trial.work();
  expect(state.closed).toBeDefined();
  expect(state.foreign.map((c) => c.job)).toEqual([77]);
  capturesOf(trial, state);
  expect(trial.notices.some((n) => n.startsWith('E212'))).toBe(true);
});

async function until(condition: () => boolean): Promise<void> {
  while (!condition()) await new Promise((resolve) => setImmediate(resolve));
}
