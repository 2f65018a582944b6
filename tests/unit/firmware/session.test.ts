/** The firmware as JavaScript, spoken to in frames: phases, laser, button, lamp, faults, journal, repeats. */
import { expect, it } from 'vitest';
import { captureHeightUm } from '../../../protocol/solver/capture-height';
import type { Message } from '../../../protocol/wire';
import { crc32c, encodeFrame } from '../../../protocol/wire';
import { writeRecord } from '../../../firmware/sensing/record';
import { createMemoryPart as createMemoryDriver } from '../../../firmware/drivers/memory';
import { LEVEL_SCENE, armed, bodyOf, codeIn, createBench, rolled, statusOf } from './bench';
import type { Bench } from './bench';

const errorsOf = (bench: Bench) => bench.ofName('error').map((e) => e.code);

function press(bench: Bench, ms: number): void {
  bench.scene = { ...bench.scene, buttonDown: true };
  bench.run(ms);
  bench.scene = { ...bench.scene, buttonDown: false };
  bench.run(100);
}

it('measures: arm, capture by host and by button, each with what was armed and with a height the host recomputes', () => {
  const bench = createBench();
  armed(bench, { job: 4000000000, step: 65535, purpose: 2, standardErrorUm: 8 });
  bodyOf(bench.ask('capture', {}, 2000), 'capturing');
  press(bench, 60);
  bench.run(2000);

  const captures = bench.ofName('captured');
  expect(captures.map((c) => [c.capture, c.trigger, c.job, c.step, c.purpose])).toEqual([
    [1, 0, 4000000000, 65535, 2],
    [2, 1, 4000000000, 65535, 2],
  ]);
  const calibration = bodyOf(bench.ask('read-calibration', { headPosition: 0 }), 'calibration');
  for (const c of captures) {
    expect(captureHeightUm(calibration, c)).toEqual({
      distanceUm: c.distance,
      heightUm: c.height,
      inRange: true,
    });
    // 90 mm of distance, speckle 0.1 mm: true within four times the error asked for, beside the straight lines between knots.
    expect(Math.abs(c.distance - 90000)).toBeLessThan(4 * 8 + 15);
    expect(c.samples).toBeGreaterThan((100 / 8) ** 2 * 0.6);
    expect(statusOf(bench).unacknowledged).toBe(2);
  }
});

it('waits no longer than the noise demands, and the means are as good as they say', () => {
  // Ideal: (standard deviation of one sample / error asked for) squared samples at 250 a second.
  const idealMs = (100 / 8) ** 2 * 4;
  const bench = createBench();
  armed(bench, { standardErrorUm: 8 });
  for (let i = 1; i <= 60; i++) {
    bench.ask('capture', {}, 8);
    for (let ms = 0; ms < 3000 && bench.ofName('captured').length < i; ms += 4) bench.run(4);
    bench.ask('acknowledge', { capture: i }, 8);
  }
  // The first had time before the trigger.
  const captures = bench.ofName('captured').slice(1);
  expect(captures).toHaveLength(59);
  const waitedMs = captures.reduce((sum, c) => sum + c.waitedMs, 0) / captures.length;
  expect(waitedMs / idealMs).toBeGreaterThan(0.8);
  expect(waitedMs / idealMs).toBeLessThan(1.3);
  const mean = captures.reduce((sum, c) => sum + c.distance, 0) / captures.length;
  const sd = Math.sqrt(
    captures.reduce((sum, c) => sum + (c.distance - mean) ** 2, 0) / (captures.length - 1),
  );
  // The standard deviation of 59 means lies within a quarter of the error asked for (chi-square, 99 %).
  expect(sd / 8).toBeGreaterThan(0.75);
  expect(sd / 8).toBeLessThan(1.25);
});

it('a part that shows no force at all keeps the laser dark and the program running', () => {
  const bench = createBench();
  armed(bench, { liveHz: 20 });
  const bias = bodyOf(bench.ask('read-calibration', { headPosition: 0 }), 'calibration');
  bench.scene = { ...LEVEL_SCENE, forceG: [0, 0, 0] };
  bench.ask('disarm', {});
  // With a zero that is a little off, what is left of no force points straight up.
  const gravityBiasZ = bias.gravityBiasZ - 15_000;
  bodyOf(bench.ask('write-calibration', { ...bias, gravityBiasZ }, 30), 'calibration-written');
  bench.ask('arm', { job: 1, step: 1, purpose: 0, liveHz: 20, standardErrorUm: 15 }, 1000);
  expect(bench.laserOn).toBe(false);
});

it('armed before anything was felt, the laser stays dark until it is known to point down', () => {
  const bench = createBench();
  bench.scene = { ...LEVEL_SCENE, forceG: rolled(60) };
  bench.restart(0, 0);
  const order = { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 15 };
  bench.put({ name: 'arm', sequence: 9, body: order });
  bench.run(400);
  expect(statusOf(bench).phase).toBe(2);
  expect(bench.laserLit).toBe(0);
  bench.scene = LEVEL_SCENE;
  bench.run(200);
  expect(bench.laserOn).toBe(true);
});

it('lights the laser only while armed, not beyond 30 degrees, and not after two idle minutes', () => {
  const bench = createBench();
  bench.run(3000);
  expect(bench.laserOn).toBe(false);
  armed(bench);
  expect(bench.laserOn).toBe(true);

  bench.scene = { ...LEVEL_SCENE, forceG: rolled(35) };
  bench.run(200);
  expect(bench.laserOn).toBe(false);
  expect(bench.ofName('happened').map((h) => h.what)).toContain(2);
  bench.scene = LEVEL_SCENE;
  bench.run(200);
  expect(bench.laserOn).toBe(true);

  // Once in a while noise looks like drift, and the two minutes begin anew.
  bench.run(245_000);
  expect(bench.laserOn).toBe(false);
  expect(bench.ofName('happened').at(-1)).toEqual({ what: 1, value: 120 });
  expect(statusOf(bench).phase).toBe(1);
  expect(codeIn(bench.ask('capture', {}))).toBe(102);

  armed(bench);
  bodyOf(bench.ask('disarm', {}), 'disarmed');
  expect(bench.laserOn).toBe(false);
});

it('gives up a capture after 30 s with the reasons, and captures as soon as the disturbance ends', () => {
  const bench = createBench();
  armed(bench);
  bench.scene = { ...LEVEL_SCENE, distanceMm: 200 };
  bench.ask('capture', {}, 29_500);
  expect(errorsOf(bench)).toEqual([]);
  expect(codeIn(bench.ask('capture', {}))).toBe(103);
  bench.run(1000);
  expect(bench.ofName('error').at(-1)).toMatchObject({ code: 104, aboutMessage: 0 });
  expect(bench.ofName('error').at(-1)!.detail & 4).toBe(4);

  bench.ask('capture', {}, 1000);
  bench.scene = LEVEL_SCENE;
  bench.run(1000);
  expect(bench.ofName('captured')).toHaveLength(1);
});

it('a repeat is answered with the same bytes and not done again; the same number with another request is new', () => {
  const bench = createBench();
  armed(bench);
  const request = { name: 'capture', sequence: 200, body: {} } as Message;
  bench.put(request);
  bench.run(1500);
  bench.put(request);
  bench.run(1500);
  const replies = bench.received.filter((m) => m.sequence === 200 && m.name === 'capturing');
  expect(replies.map((m) => encodeFrame(m))).toEqual([encodeFrame(replies[0]), encodeFrame(replies[0])]);
  expect(bench.ofName('captured')).toHaveLength(1);
  bench.put({ name: 'disarm', sequence: 200, body: {} });
  bench.run(20);
  expect(bench.received.at(-1)!.name).toBe('disarmed');
});

it('keeps captures that the host did not get through a restart, sends them on request, and forgets them when told', () => {
  const bench = createBench();
  armed(bench);
  bench.connected = false;
  for (let i = 0; i < 3; i++) {
    press(bench, 60);
    bench.run(1500);
  }
  expect(bench.ofName('captured')).toHaveLength(0);
  bench.restart();
  bench.connected = true;
  bench.run(20);
  expect(bench.ofName('captured')).toHaveLength(0);

  expect(bench.ask('resend', {}, 50).body).toEqual({ count: 3 });
  const captures = bench.ofName('captured');
  expect(captures.map((c) => c.capture)).toEqual([1, 2, 3]);
  const { bootCount } = bodyOf(bench.ask('identify', {}), 'identity');
  expect(captures[0].bootCount).toBe(bootCount - 1);
  for (const [i, c] of captures.entries()) {
    expect(bench.ask('acknowledge', { capture: c.capture }).body).toEqual({ unacknowledged: 2 - i });
  }
  expect(bench.ask('acknowledge', { capture: 2 }).body).toEqual({ unacknowledged: 0 });
  armed(bench);
  bench.ask('capture', {}, 1500);
  expect(bench.ofName('captured').at(-1)!.capture).toBe(4);
});

it('refuses a capture when the journal is full and takes one again after an acknowledgement', () => {
  const bench = createBench();
  armed(bench, { standardErrorUm: 50 });
  for (let i = 0; i < 64; i++) bench.ask('capture', {}, 400);
  expect(bench.ofName('captured')).toHaveLength(64);
  expect(codeIn(bench.ask('capture', {}))).toBe(105);
  press(bench, 60);
  expect(bench.ofName('error').at(-1)).toMatchObject({ code: 105, aboutMessage: 0 });
  bench.ask('acknowledge', { capture: 1 });
  bench.ask('capture', {}, 400);
  expect(bench.ofName('captured').at(-1)!.capture).toBe(65);
});

it('each missing part is a fault with its number, the laser goes off, and work goes on when it is back', () => {
  const parts: [number | 'bus', number][] = [
    [0x48, 106],
    [0x6a, 107],
    ['bus', 111],
  ];
  for (const [part, error] of parts) {
    const bench = createBench();
    armed(bench);
    const breakIt = (on: boolean) => (part === 'bus' ? bench.bus.hold(on) : bench.bus.detach(part, on));
    breakIt(true);
    bench.run(200);
    expect(bench.laserOn).toBe(false);
    expect(errorsOf(bench)).toEqual([error]);
    const status = statusOf(bench);
    expect([status.phase, status.faults]).toEqual([4, 2 ** (error - 100)]);
    expect(codeIn(bench.ask('arm', { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 9 }))).toBe(
      error,
    );
    breakIt(false);
    bench.run(1500);
    expect(statusOf(bench)).toMatchObject({ phase: 1, faults: 0 });
    armed(bench);
    bench.ask('capture', {}, 1000);
    expect(bench.ofName('captured')).toHaveLength(1);
  }
});

it('without its memory it starts with a fault, and a capture that cannot be kept is not announced', () => {
  const bench = createBench();
  armed(bench);
  bench.bus.detach(0x50, true);
  bench.ask('capture', {}, 1500);
  expect(bench.ofName('captured')).toHaveLength(0);
  expect(errorsOf(bench)).toEqual([108]);
  bench.bus.detach(0x50, false);
  bench.run(1500);
  expect(statusOf(bench)).toMatchObject({ phase: 1, faults: 0, unacknowledged: 0 });

  const blank = createBench({ calibrated: false });
  writeRecord(createMemoryDriver(blank.bus), 0, crc32c, 9, [0x53, 0x57, 0x50, 0x4c]);
  blank.restart();
  expect(statusOf(blank)).toMatchObject({ phase: 4, faults: 256 });
});

it('the self test passes on good parts, and finds a dark laser and a part that is gone', () => {
  const bench = createBench();
  bench.run(500);
  const good = bodyOf(bench.ask('self-test', {}, 300), 'self-test-report');
  expect([good.tested, good.failed]).toEqual([31, 0]);
  expect(Math.abs(good.gravity - 1e6)).toBeLessThan(60_000);
  expect(bench.laserOn).toBe(false);

  bench.scene = { ...LEVEL_SCENE, distanceMm: undefined };
  expect(bodyOf(bench.ask('self-test', {}, 300), 'self-test-report').failed).toBe(8);
  bench.scene = LEVEL_SCENE;
  bench.bus.detach(0x48, true);
  expect(bodyOf(bench.ask('self-test', {}, 300), 'self-test-report').failed & 1).toBe(1);
});

it('refuses what it does not know or what is out of range, and restarts for an update only when confirmed', () => {
  const bench = createBench();
  const arm = { job: 1, step: 1, purpose: 0, liveHz: 10, standardErrorUm: 10 };
  expect(codeIn(bench.ask('arm', { ...arm, liveHz: 51 }))).toBe(101);
  expect(codeIn(bench.ask('arm', { ...arm, standardErrorUm: 0 }))).toBe(101);
  expect(codeIn(bench.ask('arm', { ...arm, purpose: 3 }))).toBe(101);
  expect(codeIn(bench.ask('show', { pattern: 6 }))).toBe(101);
  expect(codeIn(bench.ask('armed', { nextCapture: 1 }))).toBe(101);
  expect(codeIn(bench.ask('reboot-to-update', { confirmation: 1 }))).toBe(114);
  const before = bodyOf(bench.ask('identify', {}), 'identity').bootCount;
  bodyOf(bench.ask('reboot-to-update', { confirmation: 0x54445055 }), 'rebooting');
  bench.run(10);
  expect(bodyOf(bench.ask('identify', {}), 'identity').bootCount).toBe(before + 1);
});

it('a crash stands as error 112 in every status until the fixture is armed again', () => {
  const bench = createBench();
  bench.restart(3);
  bench.run(10);
  expect(errorsOf(bench)).toEqual([112]);
  for (let i = 0; i < 2; i++) expect(statusOf(bench)).toMatchObject({ phase: 1, faults: 2 ** 12 });
  expect(codeIn(bench.ask('arm', { job: 1, step: 1, purpose: 9, liveHz: 0, standardErrorUm: 9 }))).toBe(101);
  expect(statusOf(bench).faults).toBe(2 ** 12);
  armed(bench);
  expect(statusOf(bench)).toMatchObject({ phase: 2, faults: 0, resetCause: 3 });
});

it('the clock may wrap in the middle of a capture', () => {
  const bench = createBench({ clockUs: 2 ** 32 - 6_100_000 });
  armed(bench, { liveHz: 50, standardErrorUm: 8 });
  bench.ask('capture', {}, 3000);
  expect(bench.ofName('captured')).toHaveLength(1);
  const uptimes = bench.ofName('live').map((l) => l.uptimeMs);
  expect(uptimes.length).toBeGreaterThan(140);
  uptimes.slice(1).forEach((ms, i) => expect(ms - uptimes[i]).toBeLessThanOrEqual(28));
  expect(Math.min(...uptimes.slice(1).map((ms, i) => ms - uptimes[i]))).toBeGreaterThan(10);
});

it('the lamp shows waiting, settled, captured, check and fault, each with its own rhythm', () => {
  const bench = createBench();
  const seen = (ms: number) => {
    const colours = new Set<string>();
    for (let t = 0; t < ms; t += 20) {
      bench.run(20);
      colours.add(bench.lamp.join(' '));
    }
    return [...colours].sort();
  };
  bench.run(500);
  bench.ask('arm', { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 15 });
  expect(seen(2000)).toEqual(['0 0 0', '255 120 0']);
  bench.run(5000);
  expect(seen(1000)).toEqual(['0 255 0']);
  bench.ask('capture', {}, 50);
  expect(seen(1000)).toEqual(['0 0 0', '0 255 0']);
  bench.run(3000);
  bench.ask('show', { pattern: 4 });
  expect(seen(1500)).toEqual(['0 0 0', '0 0 255']);
  bench.bus.hold(true);
  bench.run(200);
  expect(seen(1000)).toEqual(['0 0 0', '255 0 0']);
});

it('a press while idle and a long press are told, a knock is told once', () => {
  const bench = createBench();
  bench.run(500);
  press(bench, 200);
  const [first] = bench.ofName('happened');
  expect(first.what).toBe(0);
  expect(Math.abs(first.value - 200)).toBeLessThan(20);
  armed(bench);
  press(bench, 1500);
  expect(bench.ofName('captured')).toHaveLength(0);
  bench.received.length = 0;
  for (let i = 0; i < 3; i++) {
    bench.scene = { ...LEVEL_SCENE, forceG: [0, 0, 2] };
    bench.run(8);
    bench.scene = LEVEL_SCENE;
    bench.run(300);
  }
  expect(bench.ofName('happened').map((h) => h.what)).toEqual([3]);
  expect(bench.ofName('happened')[0].value).toBeGreaterThan(900);
});
