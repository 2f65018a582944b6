import { Duplex } from 'node:stream';
import { afterEach, describe, expect, it } from 'vitest';
import { NumberedError } from '../../../host/errors/errors';
import { findFixture, openLink, rebootToUpdate } from '../../../host/link/index';
import type { Link } from '../../../host/link/index';
import { seededRandom } from '../../../host/simulation/random';
import { createPeer } from '../../unit/link/peer';
import { AT_REST, createRig } from './rig';
import type { Rig } from './rig';

const JOB = 41;
const endings: (() => Promise<void> | void)[] = [];

afterEach(async () => {
  for (const end of endings.splice(0).reverse()) await end();
});

/** The real firmware with `captures` readings of the job taken and kept. */
async function jobUnderWay(captures: number): Promise<{ rig: Rig; link: Link }> {
  const rig = await createRig();
  endings.push(() => rig.fixture.close());
  const link = await rig.connect();
  endings.push(() => link.close());
  for (let step = 1; step <= captures; step += 1) await rig.readTip(link, JOB, step);
  return { rig, link };
}

/** Every capture so far is on the shelf and was counted once, and the fixture holds none back. */
async function expectEachOnce(rig: Rig, link: Link, captures: number): Promise<void> {
  expect([...rig.shelf.kept.values()].map((c) => c.capture)).toEqual(numbersTo(captures));
  expect(rig.tellings('captured').filter((c) => c.kept === 'kept')).toHaveLength(captures);
  await rig.pass(500);
  expect((await rig.settled(link.request('report-status', {}))).unacknowledged).toBe(0);
  expect(rig.fixture.crashes).toEqual([]);
}

function numbersTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i + 1);
}

function expectNumbered(error: unknown, number: number): void {
  expect(error).toBeInstanceOf(NumberedError);
  expect(error).toMatchObject({ number });
  expect((error as NumberedError).nextStep).not.toBe('');
}

describe('bad input to the link, with the real firmware', () => {
  it('unknown port: E201, and the job goes on once the fixture is there', async () => {
    const rig = await createRig();
    endings.push(() => rig.fixture.close());
    rig.fixture.unplug();
    expectNumbered(await rig.connect().catch((e: unknown) => e), 201);
    rig.fixture.plugIn();
    const link = await rig.connect();
    endings.push(() => link.close());
    await rig.readTip(link, JOB, 1);
    await expectEachOnce(rig, link, 1);
  });

  it('port in use: E202 for the second program, nothing changes for the first', async () => {
    const { rig, link } = await jobUnderWay(1);
    const second = openLink({ open: () => rig.fixture.openPort(), name: 'fixture', keep: rig.shelf.keep });
    expectNumbered(await rig.settled(second.catch((e: unknown) => e)), 202);
    await rig.readTip(link, JOB, 2);
    await expectEachOnce(rig, link, 2);
  });

  it('port that has become another device: E203, and the fixture is taken up again when it is back', async () => {
    const { rig, link } = await jobUnderWay(1);
    rig.port = () => Promise.resolve(createEcho());
    rig.fixture.unplug();
    await rig.pass(5000);
    expect(link.connected()).toBe(false);
    expect(rig.tellings('error')).toHaveLength(1);
    expectNumbered(rig.tellings('error')[0], 203);
    rig.port = () => rig.fixture.openPort();
    rig.fixture.plugIn();
    await rig.pass(3000);
    await rig.readTip(link, JOB, 2);
    await expectEachOnce(rig, link, 2);
  });

  it('other protocol major: E204, the captures before it stay', async () => {
    const { rig, link } = await jobUnderWay(1);
    const newer = createPeer(link.identity().fixtureId);
    newer.identity = { ...newer.identity, protocolMajor: 2 };
    rig.port = newer.open;
    rig.fixture.unplug();
    await rig.pass(5000);
    expect(rig.tellings('error')).toHaveLength(1);
    expectNumbered(rig.tellings('error')[0], 204);
    expect(rig.shelf.kept.size).toBe(1);
    rig.port = () => rig.fixture.openPort();
    rig.fixture.plugIn();
    await rig.pass(3000);
    await expectEachOnce(rig, link, 1);
  });

  it('garbage on the line: E209, and captures taken through it are counted once', async () => {
    const { rig, link } = await jobUnderWay(1);
    const random = seededRandom(9);
    rig.disturb = () => {
      if (!random.chance(0.02)) return;
      const burst = Array.from({ length: 1 + Math.floor(random.between(0, 8)) }, () =>
        random.between(0, 256),
      );
      rig.fixture.garbage(burst.map(Math.floor));
    };
    for (let step = 2; step <= 20; step += 1) await rig.readTip(link, JOB, step);
    rig.disturb = undefined;
    await rig.pass(3000);
    expectNumbered(rig.tellings('garbage')[0]?.error, 209);
    await expectEachOnce(rig, link, 20);
  });

  it('cable pulled in the middle of a request: E206, and E210 when it is back, as the fixture lives from the cable', async () => {
    const { rig, link } = await jobUnderWay(2);
    const out = link.request('report-status', {});
    rig.fixture.unplug();
    expectNumbered(await rig.settled(out.catch((e: unknown) => e)), 206);
    expectNumbered(rig.tellings('lost')[0], 206);
    await rig.pass(10_000);
    rig.fixture.plugIn();
    await rig.pass(3000);
    expectNumbered(rig.tellings('back')[0]?.restarted, 210);
    await rig.readTip(link, JOB, 3);
    await expectEachOnce(rig, link, 3);
  });

  it('reset in the middle of a capture: E206, then E210; that capture never was, the others are intact', async () => {
    const { rig, link } = await jobUnderWay(1);
    await rig.settled(
      link.request('arm', { job: JOB, step: 2, purpose: 0, liveHz: 10, standardErrorUm: 20 }),
    );
    rig.scene = { ...AT_REST, turnRateDegS: [0, 0, 40] };
    await rig.settled(link.request('capture', {}));
    await rig.pass(200);
    rig.fixture.powerCycle();
    rig.scene = AT_REST;
    await rig.pass(3000);
    expectNumbered(rig.tellings('lost')[0], 206);
    expectNumbered(rig.tellings('back')[0]?.restarted, 210);
    expect(rig.shelf.kept.size).toBe(1);
    await rig.readTip(link, JOB, 2);
    await expectEachOnce(rig, link, 2);
  });

  it('capture of another job, left in the fixture by a host that died: arrives under its own job number, once', async () => {
    const { rig, link } = await jobUnderWay(0);
    rig.shelf.full = true;
    await rig.settled(link.request('arm', { job: JOB, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 20 }));
    await rig.settled(link.request('capture', {}));
    await rig.pass(12_000);
    expectNumbered(rig.tellings('error')[0], 254);
    await link.close();
    rig.shelf.full = false;

    const next = await rig.connect();
    endings.push(() => next.close());
    await rig.readTip(next, JOB + 1, 1);
    expect([...rig.shelf.kept.values()].map((c) => c.job)).toEqual([JOB, JOB + 1]);
    await expectEachOnce(rig, next, 2);
  });

  it('a button pressed while the host is away: the capture waits in the fixture and arrives once', async () => {
    const { rig, link } = await jobUnderWay(1);
    await rig.settled(link.request('arm', { job: JOB, step: 2, purpose: 0, liveHz: 0, standardErrorUm: 20 }));
    await link.close();
    rig.scene = { ...AT_REST, buttonDown: true };
    await rig.pass(200);
    rig.scene = AT_REST;
    await rig.pass(8000);
    const next = await rig.connect();
    endings.push(() => next.close());
    expect(rig.tellings('captured').map((c) => c.capture.trigger)).toEqual([0, 1]);
    await expectEachOnce(rig, next, 2);
  });

  it('power cut at any byte of the storing of a capture: it is there whole or not at all, and is counted once', async () => {
    for (const bytes of [1, 20, 60, 90, 120]) {
      const { rig, link } = await jobUnderWay(1);
      await rig.settled(
        link.request('arm', { job: JOB, step: 2, purpose: 0, liveHz: 0, standardErrorUm: 20 }),
      );
      rig.fixture.cutPowerAfterStoring(bytes);
      await rig.settled(link.request('capture', {}));
      await rig.pass(8000);
      rig.fixture.plugIn();
      await rig.pass(3000);
      const stored = rig.shelf.kept.size;
      expect([1, 2]).toContain(stored);
      await rig.readTip(link, JOB, 3);
      expect(rig.tellings('missing')).toEqual([]);
      await expectEachOnce(rig, link, stored + 1);
      await link.close();
    }
  });

  it('is found by itself on the one port that has it, and can be restarted for an update', async () => {
    const rig = await createRig();
    endings.push(() => rig.fixture.close());
    const pump = setInterval(() => rig.fixture.advance(5000), 1);
    endings.push(() => clearInterval(pump));
    const open = () => rig.fixture.openPort();
    const found = await findFixture({ list: () => Promise.resolve([{ path: 'a' }]), open });
    expect(found.identity.board).toBe('simulated');
    const before = await rebootToUpdate({ open, name: 'a' });
    const after = await findFixture({ list: () => Promise.resolve([{ path: 'a' }]), open });
    expect(after.identity.bootCount).toBe(before.bootCount + 1);
  });
});

/** A device that sends back what it is sent. */
function createEcho(): Duplex {
  const echo: Duplex = new Duplex({
    read: () => {},
    write: (chunk: Buffer, _encoding, done) => {
      echo.push(chunk);
      done();
    },
  });
  return echo;
}
