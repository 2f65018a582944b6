/** Rules of protocol/SPEC.md that the writer of another host relies on, each held against the firmware. */
import { expect, it } from 'vitest';
import type { Message } from '../../../protocol/wire';
import { cobsDecode, cobsEncode, crc32c, encodeFrame } from '../../../protocol/wire';
import { LEVEL_SCENE, armed, bodyOf, codeIn, createBench } from './bench';

const ARM = { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 15 };

/** The same frame with bytes after its fields, as a later version may append them. */
function extended(message: Message): number[] {
  const plain = [...cobsDecode(encodeFrame(message).slice(0, -1))!.slice(0, -4), 1, 2, 3];
  const crc = crc32c(plain);
  return [...cobsEncode([...plain, ...[0, 8, 16, 24].map((shift) => (crc >>> shift) & 0xff)]), 0];
}

it('section 7: what comes after the known fields makes no other request, and number 0 is answered with 0', () => {
  const bench = createBench();
  armed(bench);
  const request: Message = { name: 'capture', sequence: 0, body: {} };
  bench.put(request);
  bench.run(1500);
  bench.putBytes(extended(request));
  bench.run(1500);
  expect(bench.received.map((m) => [m.name, m.sequence])).toContainEqual(['capturing', 0]);
  expect(bench.ofName('capturing')).toHaveLength(2);
  expect(bench.ofName('captured')).toHaveLength(1);
});

it('section 7: what is not for a host to send is not taken, what is out of range is', () => {
  const bench = createBench();
  armed(bench);
  const capture: Message = { name: 'capture', sequence: 9, body: {} };
  const others: [Message, number][] = [
    [{ name: 'armed', sequence: 10, body: { nextCapture: 1 } }, 1],
    [{ name: 'show', sequence: 10, body: { pattern: 6 } }, 2],
  ];
  for (const [other, captures] of others) {
    bench.received.length = 0;
    for (const message of [capture, other, capture]) {
      bench.put(message);
      bench.run(1500);
    }
    expect(bench.ofName('error').map((e) => e.code)).toEqual([101]);
    // Only where the one between was taken is the second `capture` no repeat of the first.
    expect(new Set(bench.ofName('captured').map((c) => c.capture)).size).toBe(captures);
    bench.ask('disarm', {});
    bench.ask('arm', ARM);
  }
});

it('section 7: live and happened share one count that goes on through disarm and arm', () => {
  const bench = createBench();
  armed(bench, { liveHz: 20 });
  for (const buttonDown of [true, false, true, false]) {
    bench.scene = { ...LEVEL_SCENE, buttonDown };
    bench.run(buttonDown ? 1200 : 200);
    if (!buttonDown) {
      bench.ask('disarm', {});
      bench.ask('arm', { ...ARM, liveHz: 20 });
    }
  }
  const counts = bench.received
    .filter((m) => m.name === 'live' || m.name === 'happened')
    .map((m) => m.sequence);
  expect(bench.ofName('happened').map((h) => h.what)).toEqual([0, 0]);
  expect(counts.length).toBeGreaterThan(40);
  expect(counts).toEqual(counts.map((_, i) => i));
});

it('section 5.1: turned counts from the start of the fixture in its first capture, then from the capture before', () => {
  const bench = createBench();
  const turn = () => {
    bench.scene = { ...LEVEL_SCENE, turnRateDegS: [0, 0, 30] };
    bench.run(1000);
    bench.scene = LEVEL_SCENE;
    bench.run(1000);
  };
  // The gyro's bias has to be known first.
  bench.run(3000);
  turn();
  armed(bench);
  turn();
  for (let i = 0; i < 2; i++) bench.ask('capture', {}, 1500);
  const [first, second] = bench.ofName('captured').map((c) => c.turned / 100);
  // Within 3 degrees: hold times and what is left of the bias.
  expect(Math.abs(first - 60)).toBeLessThan(3);
  expect(Math.abs(second)).toBeLessThan(1);
});

it('section 9: a capture goes on when the head is moved to a position with calibration, and ends with 109 without', () => {
  const bench = createBench();
  armed(bench);
  bench.scene = { ...LEVEL_SCENE, distanceMm: undefined };
  bench.ask('capture', {}, 1000);
  bench.scene = { ...LEVEL_SCENE, headPosition: 1 };
  bench.run(1500);
  expect(bench.ofName('captured').map((c) => c.headPosition)).toEqual([1]);
  expect(bench.ofName('error')).toEqual([]);

  const half = createBench({ calibrated: false });
  const both = createBench();
  const low = bodyOf(both.ask('read-calibration', { headPosition: 0 }), 'calibration');
  half.ask('write-calibration', low, 30);
  half.received.length = 0;
  armed(half);
  half.scene = { ...LEVEL_SCENE, distanceMm: undefined };
  half.ask('capture', {}, 1000);
  half.scene = { ...LEVEL_SCENE, headPosition: 1 };
  half.run(1500);
  expect(half.ofName('captured')).toEqual([]);
  expect(half.ofName('error')).toEqual([{ code: 109, aboutMessage: 0, detail: 0 }]);
  expect(half.ask('report-status', {}).body).toMatchObject({ phase: 1, laserOn: 0, faults: 512 });
});

it('section 9: a fault that ends a capture is told once and by nothing more', () => {
  const bench = createBench();
  armed(bench);
  bench.scene = { ...LEVEL_SCENE, distanceMm: undefined };
  bench.ask('capture', {}, 1000);
  bench.bus.detach(0x48, true);
  bench.bus.detach(0x6a, true);
  bench.run(500);
  bench.bus.detach(0x48, false);
  bench.bus.detach(0x6a, false);
  bench.scene = LEVEL_SCENE;
  bench.run(40_000);
  expect(
    bench
      .ofName('error')
      .map((e) => e.code)
      .sort(),
  ).toEqual([106, 107]);
  expect(bench.ofName('captured')).toEqual([]);
  expect(bench.ask('report-status', {}).body).toMatchObject({ phase: 1, faults: 0, journalFree: 64 });
});

it('section 10: in phase fault arm is refused with the lowest number; during a self test with 103, capture with 102', () => {
  const bench = createBench();
  bench.run(500);
  bench.put({ name: 'self-test', sequence: 200, body: {} });
  expect(codeIn(bench.ask('arm', ARM))).toBe(103);
  expect(codeIn(bench.ask('capture', {}))).toBe(102);
  expect(codeIn(bench.ask('self-test', {}))).toBe(103);
  expect(bench.ask('disarm', {}).name).toBe('disarmed');
  bench.run(300);
  expect(bench.ofName('self-test-report').map((t) => t.failed)).toEqual([0]);

  bench.bus.detach(0x6a, true);
  bench.bus.detach(0x48, true);
  bench.run(1500);
  expect(codeIn(bench.ask('arm', ARM))).toBe(106);
  expect(codeIn(bench.ask('arm', { ...ARM, purpose: 3 }))).toBe(101);
});
