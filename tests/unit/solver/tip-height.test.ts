/** Tip height against plane geometry done another way: rotate the fixture, intersect the beam with the floor. */
import { describe, expect, test } from 'vitest';
import {
  beamTiltCosine,
  captureHeightUm,
  linearise,
  tipHeightMm,
  type Vector,
} from '../../../protocol/solver';
import { seededRandom } from '../../../host/simulation/random';

test('a tilted fixture over a level floor', () => {
  const random = seededRandom(7);
  for (let round = 0; round < 500; round++) {
    const pitch = random.between(-0.2, 0.2);
    const roll = random.between(-0.2, 0.2);
    // Fixture axes in the shop's frame: roll about x after pitch about y. Rows are the shop's axes.
    const [cp, sp, cr, sr] = [Math.cos(pitch), Math.sin(pitch), Math.cos(roll), Math.sin(roll)];
    const turned = ([x, y, z]: Vector) => [
      cp * x + sp * (sr * y + cr * z),
      cr * y - sr * z,
      -sp * x + cp * (sr * y + cr * z),
    ];
    const up: Vector = [-sp, cp * sr, cp * cr];
    const raw: Vector = [random.normal(0.05), random.normal(0.05), -1];
    const length = Math.sqrt(raw[0] ** 2 + raw[1] ** 2 + raw[2] ** 2);
    const beam: Vector = [raw[0] / length, raw[1] / length, raw[2] / length];
    const edgeMm: Vector = [random.normal(30), random.normal(30), random.normal(10)];
    const originMm = random.between(60, 120);
    const distanceMm = originMm / -turned(beam)[2];
    const edgeHeightMm = originMm + turned(edgeMm)[2];
    const g = random.between(0.5, 20);
    const gravity: Vector = [g * up[0], g * up[1], g * up[2]];
    expect(tipHeightMm({ beam, edgeMm }, distanceMm, gravity)).toBeCloseTo(edgeHeightMm, 10);
    expect(beamTiltCosine({ beam, edgeMm }, gravity)).toBeCloseTo(-turned(beam)[2], 12);
  }
});

test('a 30 mm lever arm and one degree make half a millimetre', () => {
  const shape = { beam: [0, 0, -1], edgeMm: [30, 0, 0] } as const;
  const degree = Math.PI / 180;
  const height = tipHeightMm(shape, 0, [Math.sin(degree), 0, Math.cos(degree)]);
  expect(height).toBeCloseTo(30 * Math.sin(degree), 12);
  expect(height).toBeGreaterThan(0.5);
});

describe('linearise', () => {
  const knots = [1000, 60_000, 2000, 90_000, 4000, 130_000];
  test.each([
    [1000, 60_000, true],
    [1500, 75_000, true],
    [2000, 90_000, true],
    [3000, 110_000, true],
    [4000, 130_000, true],
    [999, 60_000, false],
    [4001, 130_000, false],
  ])('%d counts', (counts, distanceUm, inRange) => {
    expect(linearise(knots, counts)).toEqual({ distanceUm, inRange });
  });
  test('fewer than two pairs are no calibration', () => {
    expect(linearise([], 5)).toEqual({ distanceUm: 0, inRange: false });
    expect(linearise([1, 2, 3], 1)).toEqual({ distanceUm: 0, inRange: false });
  });
});

describe('a capture', () => {
  const calibration = {
    beamX: 0,
    beamY: 0,
    beamZ: -1_000_000_000,
    edgeX: 20_000,
    edgeY: 0,
    edgeZ: -5000,
    gravityBiasX: 3000,
    gravityBiasY: -2000,
    gravityBiasZ: 10_000,
    temperatureReference: 2000,
    temperatureGain: 100_000,
    knots: [0, 60_000, 4_000_000, 140_000],
  };
  const level = {
    countsMean: 1_000_000,
    gravityX: 3000,
    gravityY: -2000,
    gravityZ: 1_010_000,
    temperature: 2000,
  };

  test('level, at the reference temperature', () => {
    expect(captureHeightUm(calibration, level)).toEqual({
      distanceUm: 80_000,
      heightUm: 75_000,
      inRange: true,
    });
  });
  test('ten degrees warmer: a thousandth longer', () => {
    expect(captureHeightUm(calibration, { ...level, temperature: 3000 })).toEqual({
      distanceUm: 80_080,
      heightUm: 75_080,
      inRange: true,
    });
  });
  test('halves round up', () => {
    const half = { ...calibration, knots: [0, 60_000, 2_000_000, 60_001] };
    expect(captureHeightUm(half, level)).toMatchObject({ distanceUm: 60_001, heightUm: 55_001 });
  });
  test('out of range, or no gravity, says so', () => {
    expect(captureHeightUm(calibration, { ...level, countsMean: -1 }).inRange).toBe(false);
    const lost = { ...level, gravityX: 3000, gravityY: -2000, gravityZ: 10_000 };
    expect(captureHeightUm(calibration, lost)).toEqual({ distanceUm: 80_000, heightUm: 0, inRange: false });
  });
});
