import { describe, expect, it } from 'vitest';
import { createBench } from './bench';
import { createPeer, zeroBody } from './peer';

describe('a pulled cable', () => {
  it('rejects what is out with E206, is told once, and heals when the cable is back', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.answer = (request) => (request.name === 'capture' ? [] : undefined);
    const out = link.request('capture', {});
    const behind = link.request('disarm', {});
    bench.peer.unplug();
    const endings = await bench.settled(Promise.allSettled([out, behind]));
    expect(endings).toMatchObject([{ reason: { number: 206 } }, { reason: { number: 206 } }]);
    expect(link.connected()).toBe(false);
    await expect(link.request('disarm', {})).rejects.toMatchObject({ number: 206 });

    bench.peer.capture();
    await bench.timers.advance(30_000);
    bench.peer.plugIn();
    await bench.timers.advance(2100);
    expect(bench.told.map((t) => t.name)).toEqual(['lost', 'captured', 'back']);
    expect(bench.tellings('lost')[0]?.number).toBe(206);
    expect(bench.tellings('back')[0]?.restarted).toBeUndefined();
    await expect(bench.settled(link.request('disarm', {}))).resolves.toEqual({});
    await link.close();
  });

  it('is waited for with pauses from 0.2 s to 2 s', async () => {
    const bench = createBench();
    const tries: number[] = [];
    const { open } = bench.peer;
    const watched = createBench({ ...bench.peer, open: () => (tries.push(watched.timers.nowMs()), open()) });
    const link = await watched.connect();
    const pulledAt = watched.timers.nowMs();
    bench.peer.unplug();
    await watched.timers.advance(8000);
    expect(tries.slice(1).map((t) => t - pulledAt)).toEqual([200, 600, 1400, 3000, 5000, 7000]);
    await link.close();
    expect(watched.timers.pending()).toBe(0);
  });

  it('with a restart of the fixture tells E210', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.unplug();
    bench.peer.restart();
    bench.peer.plugIn();
    await bench.timers.advance(1000);
    expect(bench.tellings('back')[0]?.restarted?.number).toBe(210);
    expect(link.identity().bootCount).toBe(2);
    await link.close();
  });

  it('and another fixture in its place is told (E214), and its captures are not taken', async () => {
    const bench = createBench();
    const other = createPeer('test-2');
    other.capture();
    let plugged = bench.peer;
    const watched = createBench({ ...bench.peer, open: () => plugged.open() });
    const link = await watched.connect();
    plugged = other;
    bench.peer.unplug();
    await watched.timers.advance(10_000);
    expect(watched.tellings('error').map((e) => e.number)).toEqual([214]);
    expect(other.journal.size).toBe(1);
    expect(watched.shelf.kept.size).toBe(0);
    expect(link.connected()).toBe(false);
    plugged = bench.peer;
    bench.peer.plugIn();
    await watched.timers.advance(4000);
    expect(link.connected()).toBe(true);
    await link.close();
  });

  it('is not needed to notice another fixture behind the same converter', async () => {
    const bench = createBench();
    const link = await bench.connect();
    await bench.timers.advance(2500);
    const first = bench.peer.identity;
    bench.peer.identity = { ...first, fixtureId: 'test-2' };
    bench.peer.uptimeMs = 500;
    await bench.timers.advance(4000);
    expect(bench.told.map((t) => t.name)).toEqual(['lost', 'error']);
    expect(bench.tellings('error')[0]?.number).toBe(214);
    await link.close();
  });

  it('leaves nothing running when the link is closed while it waits', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.unplug();
    await bench.timers.advance(1000);
    await link.close();
    await link.close();
    expect(bench.timers.pending()).toBe(0);
  });
});

describe('a fixture that falls silent', () => {
  it('counts as lost when the sign of life stays out, and is found again', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.toHost = () => [];
    await bench.timers.advance(4100);
    expect(bench.tellings('lost')).toHaveLength(1);
    bench.peer.toHost = (frame) => [frame];
    await bench.timers.advance(3000);
    expect(bench.tellings('back')).toHaveLength(1);
    await link.close();
  });

  it('that restarted without the port noticing is told as restarted (E210), with its captures', async () => {
    const bench = createBench();
    const link = await bench.connect();
    await bench.timers.advance(2500);
    bench.peer.toHost = () => [];
    bench.peer.capture();
    bench.peer.toHost = (frame) => [frame];
    bench.peer.restart();
    await bench.timers.advance(2500);
    expect(bench.tellings('lost')).toEqual([]);
    expect(bench.tellings('back')).toHaveLength(1);
    expect(bench.tellings('back')[0]?.restarted?.number).toBe(210);
    expect(bench.shelf.kept.size).toBe(1);
    await link.close();
  });

  it('shows a restart at the first capture of a later start', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.restart();
    bench.peer.capture();
    await bench.timers.advance(10);
    expect(bench.tellings('back')[0]?.restarted?.number).toBe(210);
    await link.close();
  });

  it('shows a restart at the word of the fixture that its program failed (E112)', async () => {
    const bench = createBench();
    const link = await bench.connect();
    const crashed = { code: 112, aboutMessage: 0, detail: 0 };
    bench.peer.notify({ name: 'error', sequence: 0, body: { ...crashed, code: 109 } });
    await bench.timers.advance(10);
    expect(bench.tellings('back')).toHaveLength(0);
    bench.peer.restart();
    bench.peer.notify({ name: 'error', sequence: 0, body: crashed });
    await bench.timers.advance(10);
    expect(bench.tellings('error').map((e) => e.number)).toEqual([109, 112]);
    expect(bench.tellings('back')[0]?.restarted?.number).toBe(210);
    await link.close();
  });

  it('shows a restart at the first live reading that is younger than the last', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.notify({ name: 'live', sequence: 0, body: { ...zeroBody('live'), uptimeMs: 60_000 } });
    await bench.timers.advance(10);
    bench.peer.restart();
    bench.peer.notify({ name: 'live', sequence: 0, body: { ...zeroBody('live'), uptimeMs: 300 } });
    await bench.timers.advance(10);
    expect(bench.tellings('back')[0]?.restarted?.number).toBe(210);
    await link.close();
  });
});
