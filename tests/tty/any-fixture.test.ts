/**
 * One suite for any fixture: the simulated one, or with SWATHPLANE_PORT=<port> a real one. A real one has to lie still on
 * its height master, calibrated and warm. Captures of other jobs that wait in it are left there.
 */
import type { Duplex } from 'node:stream';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { numberedError } from '../../host/errors/errors';
import { openLink, openSerialPort } from '../../host/link/index';
import type { Keep, Link } from '../../host/link/index';
import { createSimulatedFixture } from '../../host/simulation/fixture';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import type { Body } from '../../protocol/wire/messages';
import { AT_REST } from '../faults/link/rig';

/** No job of a shop has this number. */
const TEST_JOB = 0xffff_fff0;
const arm = { job: TEST_JOB, step: 1, purpose: 1, liveHz: 20, standardErrorUm: 20 };
const port = process.env['SWATHPLANE_PORT'];

const kept = new Map<number, Body<'captured'>>();
const keep: Keep = (capture) => {
  if (capture.job !== TEST_JOB) throw numberedError('capture of another job', `job ${capture.job}`);
  if (kept.has(capture.capture)) return 'already kept';
  kept.set(capture.capture, capture);
  return 'kept';
};

let open: () => Promise<Duplex>;
let link: Link;
const endings: (() => Promise<void> | void)[] = [];

beforeAll(async () => {
  open = port === undefined ? await simulated() : () => openSerialPort(port);
  link = await openLink({ open, name: port ?? 'simulated fixture', keep });
  endings.push(() => link.close());
});

afterAll(async () => {
  for (const end of endings.splice(0).reverse()) await end();
});

/** The simulated fixture, ten times as fast as the clock, so that its warm-up is short. */
async function simulated(): Promise<() => Promise<Duplex>> {
  const fixture = await createSimulatedFixture({
    world: { sceneAt: () => AT_REST },
    body: EXAMPLE_BODY,
    seed: 1,
  });
  const pump = setInterval(() => fixture.advance(50_000), 5);
  endings.push(
    () => fixture.close(),
    () => clearInterval(pump),
  );
  return () => fixture.openPort();
}

describe(`a fixture on ${port ?? 'the simulated port'}`, () => {
  it('says who it is, in the version of this tool', () => {
    expect(link.identity().protocolMajor).toBe(1);
    expect(link.identity().fixtureId).not.toBe('');
    expect(link.warning()).toBeUndefined();
  });

  it('answers 100 requests in a row', async () => {
    for (let n = 0; n < 100; n += 1) {
      expect((await link.request('report-status', {})).faults).toBe(0);
    }
  });

  it('passes its self test', async () => {
    const report = await link.request('self-test', {});
    expect(report.tested).toBe(31);
    expect(report.failed).toBe(0);
  });

  it('refuses a capture while it is idle, by its own number', async () => {
    await expect(link.request('capture', {})).rejects.toMatchObject({ number: 102 });
  });

  it('cannot be opened twice', async () => {
    await expect(openLink({ open, name: 'second', keep })).rejects.toMatchObject({ number: 202 });
  });

  it('shows live heights, captures, and forgets the capture once it is kept', async () => {
    const live = vi.fn();
    const off = link.on('live', live);
    const { nextCapture } = await link.request('arm', arm);
    await vi.waitFor(() => expect(live.mock.calls.length).toBeGreaterThan(5), 5000);
    await link.request('capture', {});
    await vi.waitFor(
      () => expect(kept.get(nextCapture)).toMatchObject({ job: TEST_JOB, step: 1, trigger: 0 }),
      20_000,
    );
    await link.request('disarm', {});
    off();
    expect(await link.request('report-status', {})).toMatchObject({ laserOn: 0 });
    const resent = vi.fn();
    link.on('captured', resent);
    await link.request('resend', {});
    await link.request('report-status', {});
    expect(resent.mock.calls.flat()).not.toContainEqual(
      expect.objectContaining({ capture: kept.get(nextCapture) }),
    );
  });

  it('can be closed and opened again, still the same', async () => {
    const before = link.identity();
    await link.close();
    link = await openLink({ open, name: port ?? 'simulated fixture', keep });
    expect(link.identity().fixtureId).toBe(before.fixtureId);
  });
});
