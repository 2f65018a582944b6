import { describe, expect, it } from 'vitest';
import { FIXTURE_ERRORS, cobsEncode, crc32c } from '../../../protocol/wire/index';
import type { Message } from '../../../protocol/wire/messages';
import { createBench } from './bench';
import { refusal, zeroBody } from './peer';

const armBody = { job: 7, step: 1, purpose: 0, liveHz: 10, standardErrorUm: 20 };

describe('requests', () => {
  it('go out one at a time in the order asked, each with a number of its own', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.asked.length = 0;
    const replies = [
      link.request('arm', armBody),
      link.request('report-status', {}),
      link.request('disarm', {}),
    ];
    await bench.settled(Promise.all(replies));
    expect(bench.peer.asked.map((m) => m.name)).toEqual(['arm', 'report-status', 'disarm']);
    expect(new Set(bench.peer.asked.map((m) => m.sequence)).size).toBe(3);
    await link.close();
  });

  it('are numbered 1 to 255 in a circle, never 0', async () => {
    const bench = createBench();
    const link = await bench.connect();
    for (let n = 0; n < 300; n += 1) await bench.settled(link.request('disarm', {}));
    const numbers = bench.peer.asked.map((m) => m.sequence);
    expect(Math.min(...numbers)).toBe(1);
    expect(Math.max(...numbers)).toBe(255);
    expect(numbers.slice(1).every((n, i) => n === ((numbers[i] ?? 0) % 255) + 1)).toBe(true);
    await link.close();
  });

  it('are sent again unchanged when the reply is lost, and once answered not again', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.asked.length = 0;
    let lose = 2;
    bench.peer.answer = (request) => (request.name === 'arm' && lose-- > 0 ? [] : undefined);
    const started = bench.timers.nowMs();
    await expect(bench.settled(link.request('arm', armBody))).resolves.toEqual({ nextCapture: 1 });
    expect(bench.timers.nowMs() - started).toBeLessThanOrEqual(1100);
    const arms = bench.peer.asked.filter((m) => m.name === 'arm');
    expect(arms).toHaveLength(3);
    expect(arms[2]).toEqual(arms[0]);
    await link.close();
  });

  it('get through noise that comes into every pause: a resend begins with a delimiter', async () => {
    const bench = createBench();
    const link = await bench.connect();
    let quietSince = 0;
    bench.peer.toFixture = (bytes) => {
      const paused = bench.timers.nowMs() - quietSince > 100;
      quietSince = bench.timers.nowMs();
      return paused ? [[0x55, 0xaa], bytes] : [bytes];
    };
    const started = bench.timers.nowMs();
    await expect(bench.settled(link.request('arm', armBody))).resolves.toEqual({ nextCapture: 1 });
    expect(bench.timers.nowMs() - started).toBeLessThanOrEqual(600);
    await link.close();
  });

  it('end in E205 when nothing answers them, and the connection then counts as lost', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.answer = (request) => (request.name === 'arm' ? [] : undefined);
    const silent = link.request('arm', armBody);
    const next = link.request('disarm', {});
    const connectedAt = silent.catch(() => link.connected());
    expect(await bench.settled(Promise.allSettled([silent, next, connectedAt]))).toMatchObject([
      { reason: { number: 205, about: 'arm on peer' } },
      { reason: { number: 206 } },
      { value: false },
    ]);
    expect(bench.peer.asked.filter((m) => m.name === 'arm')).toHaveLength(4);
    await link.close();
  });

  it('are not confused by slow answers: a reply that comes after the resend serves, its double is dropped', async () => {
    const bench = createBench();
    const link = await bench.connect();
    const late: Message[] = [];
    bench.peer.answer = (request) => {
      if (request.name !== 'arm') return undefined;
      late.push({ name: 'armed', sequence: request.sequence, body: { nextCapture: 5 } });
      return late.length === 2 ? late : [];
    };
    await expect(bench.settled(link.request('arm', armBody))).resolves.toEqual({ nextCapture: 5 });
    await expect(bench.settled(link.request('disarm', {}))).resolves.toEqual({});
    await link.close();
  });

  it("reject with the fixture's own error, its number, next step and detail", async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.answer = (request) => (request.name === 'capture' ? [refusal(request, 104, 9)] : undefined);
    await expect(bench.settled(link.request('capture', {}))).rejects.toMatchObject({
      number: 104,
      about: 'capture, moving, tilted',
      nextStep: FIXTURE_ERRORS.find((e) => e.number === 104)?.nextStep,
    });
    bench.peer.answer = (request) => (request.name === 'capture' ? [refusal(request, 199, 5)] : undefined);
    await expect(bench.settled(link.request('capture', {}))).rejects.toMatchObject({
      number: 213,
      about: 'error 199, capture, detail 5',
    });
    await link.close();
  });

  it('reject when a value does not fit, and nothing is sent', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.asked.length = 0;
    await expect(bench.settled(link.request('arm', { ...armBody, step: 70_000 }))).rejects.toThrow(/step/);
    expect(bench.peer.asked).toEqual([]);
    await link.close();
  });

  it('are answered although a cut frame and frames of unknown id come before the reply', async () => {
    const bench = createBench();
    const link = await bench.connect();
    const sequence = (bench.peer.asked.at(-1)?.sequence ?? 0) + 1;
    bench.peer.toHost = (frame) => [frame.slice(0, 4), [0], unknownFrame(0), unknownFrame(sequence), frame];
    await expect(bench.settled(link.request('arm', armBody))).resolves.toEqual({ nextCapture: 1 });
    expect(bench.tellings('garbage').map((g) => g.bytes)).toEqual([4]);
    await link.close();
  });
});

/** A whole frame with an id that no version 1.0 knows, as a newer fixture may send. */
function unknownFrame(sequence: number): number[] {
  const plain = [0x7e, sequence, 1, 2, 3];
  const checksum = crc32c(plain);
  for (let byte = 0; byte < 4; byte += 1) plain.push(Math.floor(checksum / 256 ** byte) % 256);
  return [...cobsEncode(plain), 0];
}

describe('notices', () => {
  it('reach typed listeners, and a fault that no request caused comes as a numbered error', async () => {
    const bench = createBench();
    const link = await bench.connect();
    const heights: number[] = [];
    const off = link.on('live', (live) => heights.push(live.height));
    const live = { ...zeroBody('live'), uptimeMs: 20_000, height: 51_000 };
    bench.peer.notify({ name: 'live', sequence: 0, body: live });
    await bench.timers.advance(1);
    off();
    bench.peer.notify({ name: 'live', sequence: 0, body: live });
    bench.peer.notify({ name: 'happened', sequence: 0, body: { what: 3, value: 400 } });
    bench.peer.notify({ name: 'error', sequence: 0, body: { code: 106, aboutMessage: 0, detail: 0 } });
    await bench.timers.advance(1);
    expect(heights).toEqual([51_000]);
    expect(bench.tellings('live')).toHaveLength(2);
    expect(bench.tellings('happened')).toEqual([{ what: 3, value: 400 }]);
    expect(bench.tellings('error')[0]?.number).toBe(106);
    await link.close();
  });

  it('of garbage are told at once, then at most every second with the sum of the bytes', async () => {
    const bench = createBench();
    const link = await bench.connect();
    for (let n = 0; n < 100; n += 1) {
      bench.peer.say([1, 2, 3, 4, 5, 0]);
      await bench.timers.advance(25);
    }
    await bench.timers.advance(2000);
    const garbage = bench.tellings('garbage');
    expect(garbage.length).toBeLessThanOrEqual(4);
    expect(garbage.reduce((sum, g) => sum + g.bytes, 0)).toBe(500);
    await link.close();
    expect(bench.timers.pending()).toBe(0);
  });
});
