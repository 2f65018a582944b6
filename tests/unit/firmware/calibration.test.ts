/** Which calibrations the firmware takes, keeps and believes. */
import { expect, it } from 'vitest';
import type { Body } from '../../../protocol/wire';
import { crc32c, encodeFrame } from '../../../protocol/wire';
import { createMemoryPart as createMemoryDriver } from '../../../firmware/drivers/memory';
import { openTwinRecord } from '../../../firmware/sensing/twin-record';
import { LEVEL_SCENE, armed, bodyOf, codeIn, createBench, statusOf } from './bench';

it('a calibration is not replaced while captures wait that were taken with it', () => {
  const bench = createBench();
  const old = bodyOf(bench.ask('read-calibration', { headPosition: 0 }), 'calibration');
  armed(bench);
  bench.ask('capture', {}, 1500);
  bench.ask('disarm', {});
  expect(codeIn(bench.ask('write-calibration', old))).toBe(115);
  bench.restart();
  for (const headPosition of [0, 1]) {
    expect(codeIn(bench.ask('write-calibration', { ...old, headPosition }))).toBe(115);
  }
  expect(bench.ask('read-calibration', { headPosition: 0 }).body).toEqual(old);
  bench.ask('acknowledge', { capture: 1 });
  // Each head position counts its own versions.
  expect(bench.ask('write-calibration', old, 30).body).toEqual({ version: 2 });
  expect(bench.ask('write-calibration', { ...old, headPosition: 1 }, 30).body).toEqual({ version: 2 });
});

it('without a calibration it says so and does not arm; a bad one is refused and the old one stays', () => {
  const bench = createBench({ calibrated: false });
  expect(statusOf(bench)).toMatchObject({ phase: 1, faults: 512 });
  const arm = { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 9 };
  expect(codeIn(bench.ask('arm', arm))).toBe(109);
  expect(codeIn(bench.ask('read-calibration', { headPosition: 1 }))).toBe(109);

  const good = createBench();
  const calibration = bodyOf(good.ask('read-calibration', { headPosition: 0 }), 'calibration');
  const bad: [Partial<Body<'calibration'>>, number][] = [
    [{ knots: [0, 1] }, 110],
    [{ knots: [0, 1, 2] }, 110],
    [{ knots: [5, 1, 5, 2] }, 110],
    [{ knots: [4050000, -2147483648, 4050001, 2147483647] }, 110],
    [{ knots: [1, -1, 2, 5] }, 110],
    [{ knots: [1, 5, 2, 1_000_001] }, 110],
    [{ edgeX: 1_000_001 }, 110],
    [{ edgeY: -1_000_001 }, 110],
    [{ edgeZ: 2147483647 }, 110],
    [{ beamZ: 0 }, 101],
    [{ headPosition: 2 }, 101],
  ];
  for (const [change, error] of bad) {
    expect(codeIn(good.ask('write-calibration', { ...calibration, ...change }))).toBe(error);
  }
  expect(good.ask('write-calibration', { ...calibration, edgeX: 7 }, 30).body).toEqual({ version: 2 });
  good.restart();
  expect(good.ask('read-calibration', { headPosition: 0 }).body).toEqual({
    ...calibration,
    edgeX: 7,
    version: 2,
  });
  armed(good);
  expect(codeIn(good.ask('write-calibration', calibration))).toBe(103);
  expect(codeIn(good.ask('self-test', {}))).toBe(103);
  // What a request says itself is looked at before the phase, in every request alike.
  expect(codeIn(good.ask('write-calibration', { ...calibration, headPosition: 2 }))).toBe(101);
  expect(codeIn(good.ask('write-calibration', { ...calibration, knots: [] }))).toBe(110);
});

it('with every calibration that it takes, at every extreme, it measures, shows and captures without failing', () => {
  const good = bodyOf(createBench().ask('read-calibration', { headPosition: 0 }), 'calibration');
  const far = 1_000_000;
  const edges: Partial<Body<'calibration'>>[] = [
    { edgeX: far, edgeY: far, edgeZ: far },
    { edgeX: -far, edgeY: -far, edgeZ: -far },
    { knots: good.knots.map((value, i) => (i % 2 === 0 ? value : 0)) },
    { knots: good.knots.map((value, i) => (i % 2 === 0 ? value : far)), edgeZ: far },
    { knots: [4_050_000, 0, 4_050_001, far] },
  ];
  for (const change of edges) {
    for (const temperatureGain of [-2147483648, 2147483647]) {
      for (const [temperatureReference, temperatureC] of [
        [-32768, 5000],
        [32767, -5000],
      ]) {
        const bench = createBench();
        const body = { ...good, ...change, temperatureGain, temperatureReference };
        expect(bench.ask('write-calibration', body, 30).body).toEqual({ version: 2 });
        bench.scene = { ...LEVEL_SCENE, temperatureC };
        // A motion part that shows such a temperature is broken: its word is cut to what the wire can carry.
        armed(bench, { liveHz: 10, standardErrorUm: 65535 });
        bench.ask('capture', {}, 300);
        expect(bench.ofName('live').length).toBeGreaterThan(1);
        expect(statusOf(bench).temperature).toBe(temperatureC > 0 ? 32767 : -32768);
      }
    }
  }
});

it('a stored calibration that may not be written is none', () => {
  const bench = createBench();
  const good = bodyOf(bench.ask('read-calibration', { headPosition: 0 }), 'calibration');
  const bad: Partial<Body<'calibration'>>[] = [{ edgeZ: 2147483647 }, { knots: [0, 1] }, { beamZ: 0 }];
  for (const change of bad) {
    const { twin } = openTwinRecord(createMemoryDriver(bench.bus), 0x100, 272, crc32c)!;
    twin.replace(encodeFrame({ name: 'calibration', sequence: 0, body: { ...good, ...change } }));
    bench.restart();
    expect(statusOf(bench)).toMatchObject({ phase: 1, faults: 512 });
    expect(codeIn(bench.ask('read-calibration', { headPosition: 0 }))).toBe(109);
    expect(codeIn(bench.ask('arm', { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 9 }))).toBe(
      109,
    );
  }
});
