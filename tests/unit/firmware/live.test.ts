/** What the live notices show, and when. */
import { expect, it } from 'vitest';
import type { Scene } from '../../../host/simulation/world';
import { LEVEL_SCENE, armed, createBench, rolled } from './bench';

it('streams live notices at the rate asked for, and none when 0 is asked for', () => {
  for (const hz of [0, 10, 50]) {
    const bench = createBench();
    armed(bench, { liveHz: hz });
    // The laser comes up first, see below.
    bench.run(100);
    bench.received.length = 0;
    bench.run(2000);
    const live = bench.received.filter((m) => m.name === 'live');
    expect(Math.abs(live.length - 2 * hz)).toBeLessThanOrEqual(hz === 0 ? 0 : 2);
    // SPEC section 7: one higher at each notice, so that the host can count those that were lost.
    expect(live.map((m) => m.sequence)).toEqual(live.map((_, i) => (live[0].sequence + i) % 256));
  }
});

it('live notices after arming show what is seen now, not what an earlier arming saw', () => {
  const bench = createBench();
  const order = { job: 7, step: 3, purpose: 0, liveHz: 50, standardErrorUm: 15 };
  armed(bench, order);
  for (const distanceMm of [110, undefined, 75]) {
    bench.ask('disarm', {});
    bench.scene = { ...LEVEL_SCENE, distanceMm };
    bench.run(500);
    bench.received.length = 0;
    bench.ask('arm', order, 300);
    const live = bench.ofName('live');
    expect(live.length).toBeGreaterThan(10);
    for (const { waiting, distance } of live) {
      expect(Math.floor(waiting / 4) % 2).toBe(distanceMm === undefined ? 1 : 0);
      // Speckle is 0.1 mm.
      if (distanceMm !== undefined) expect(Math.abs(distance - 1000 * distanceMm)).toBeLessThan(600);
    }
    // Not one of them can be settled before there are readings enough.
    expect(live[0]).toMatchObject({ standardErrorUm: 65535 });
    expect(Math.floor(live[0].waiting / 64) % 2).toBe(1);
  }
});

it('while the laser is dark for tilt live goes on, says so, and shows no reading', () => {
  const bench = createBench();
  const order = { job: 7, step: 3, purpose: 0, liveHz: 50, standardErrorUm: 15 };
  armed(bench, order);
  bench.scene = { ...LEVEL_SCENE, distanceMm: undefined };
  bench.run(500);
  bench.scene = { ...LEVEL_SCENE, forceG: rolled(35) };
  bench.run(500);
  const dark = { counts: 0, distance: 0, height: 0, standardErrorUm: 65535 };
  expect(bench.ofName('live').at(-1)).toMatchObject({ ...dark, waiting: 8 + 64 });
  bench.ask('disarm', {});
  bench.received.length = 0;
  bench.ask('arm', order, 300);
  expect(bench.ofName('live').length).toBeGreaterThan(10);
  for (const live of bench.ofName('live')) expect(live).toMatchObject({ ...dark, waiting: 8 + 64 });
});

it('says why it waits', () => {
  const cases: [Partial<Scene>, number][] = [
    [{}, 0],
    [{ turnRateDegS: [0, 0, 20] }, 1],
    [{ distanceMm: undefined }, 4],
    [{ forceG: rolled(20) }, 8],
    [{ speckleMm: 4 }, 16],
  ];
  for (const [change, bit] of cases) {
    const bench = createBench();
    armed(bench, { liveHz: 20 });
    bench.scene = { ...LEVEL_SCENE, ...change };
    bench.run(1500);
    const { waiting } = bench.ofName('live').at(-1)!;
    if (bit === 0) expect(waiting).toBe(0);
    else expect(Math.floor(waiting / bit) % 2).toBe(1);
  }
  const cold = createBench();
  cold.run(500);
  cold.ask('arm', { job: 1, step: 1, purpose: 0, liveHz: 20, standardErrorUm: 15 }, 1000);
  expect(Math.floor(cold.ofName('live').at(-1)!.waiting / 32) % 2).toBe(1);
});
