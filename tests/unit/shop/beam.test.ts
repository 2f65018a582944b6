import { describe, expect, it } from 'vitest';
import { inSpace, poseOnEdge, traceBeam, upIn } from '../../../host/simulation/beam';
import type { HeadShape } from '../../../host/simulation/world';

const DEG = Math.PI / 180;
const UPRIGHT = { placementMm: 0, rollRad: 0, pitchRad: 0 };

function distance(
  head: HeadShape,
  seat: typeof UPRIGHT,
  surface: (x: number, y: number) => number = () => 0,
  inwardRad = 0,
) {
  const pose = poseOnEdge([0, 0, 90], inwardRad, 0, 0, seat, head);
  return traceBeam(pose.originMm, inSpace(pose, head.beam), surface);
}

// Trigonometry by hand: the edge is 90 mm above a level floor, the beam's origin is where the edge vector says.
describe('the beam', () => {
  it('is the height of its origin over the cosine of its tilt', () => {
    const beam = [Math.sin(10 * DEG), 0, -Math.cos(10 * DEG)] as const;
    expect(distance({ edgeMm: [0, 0, -40], beam }, UPRIGHT)).toBeCloseTo(130 / Math.cos(10 * DEG), 9);
  });

  it('swings about the edge when the fixture is pitched, and gravity turns the other way', () => {
    const head: HeadShape = { edgeMm: [30, 0, -40], beam: [0, 0, -1] };
    const pitchRad = 3 * DEG;
    const originMm = 90 + 30 * Math.sin(pitchRad) + 40 * Math.cos(pitchRad);
    expect(distance(head, { ...UPRIGHT, pitchRad })).toBeCloseTo(originMm / Math.cos(pitchRad), 9);
    const pose = poseOnEdge([0, 0, 90], 0, 0, 0, { ...UPRIGHT, pitchRad }, head);
    const [x, y, z] = upIn(pose);
    expect([x, y, z].map((v) => v.toFixed(12))).toEqual(
      [-Math.sin(pitchRad), 0, Math.cos(pitchRad)].map((v) => v.toFixed(12)),
    );
  });

  it('feels a roll on its y axis', () => {
    const pose = poseOnEdge(
      [0, 0, 90],
      1,
      0,
      0,
      { ...UPRIGHT, rollRad: 5 * DEG },
      {
        edgeMm: [0, 0, 0],
        beam: [0, 0, -1],
      },
    );
    const [x, y, z] = upIn(pose);
    expect(x).toBeCloseTo(0, 12);
    expect(y).toBeCloseTo(Math.sin(5 * DEG), 12);
    expect(z).toBeCloseTo(Math.cos(5 * DEG), 12);
  });

  it('leans with a blade that slopes', () => {
    // Toward the centre the blade rises 1 in 10: the fixture's x axis rises with it.
    const pose = poseOnEdge([0, 0, 90], Math.PI / 2, 0, 0.1, UPRIGHT, {
      edgeMm: [0, 0, 0],
      beam: [0, 0, -1],
    });
    expect(upIn(pose)[0]).toBeCloseTo(0.1 / Math.sqrt(1.01), 12);
    expect(pose.xAxis[1]).toBeCloseTo(1 / Math.sqrt(1.01), 12);
  });

  it('keeps its axes square and right-handed', () => {
    const seat = { placementMm: 0, rollRad: 0.3, pitchRad: -0.2 };
    const {
      xAxis: x,
      yAxis: y,
      zAxis: z,
    } = poseOnEdge([0, 0, 90], 2, 0.05, -0.1, seat, {
      edgeMm: [0, 0, 0],
      beam: [0, 0, -1],
    });
    const dot = (a: readonly number[], b: readonly number[]) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    expect([dot(x, x), dot(y, y), dot(z, z)].map((v) => v.toFixed(12))).toEqual(
      Array(3).fill('1.000000000000'),
    );
    expect(Math.max(...[dot(x, y), dot(y, z), dot(z, x)].map(Math.abs))).toBeLessThan(1e-12);
    expect(
      x[0] * (y[1] * z[2] - y[2] * z[1]) -
        x[1] * (y[0] * z[2] - y[2] * z[0]) +
        x[2] * (y[0] * z[1] - y[1] * z[0]),
    ).toBeCloseTo(1, 12);
  });

  it('is longer by the placement, along the beam', () => {
    const beam = [Math.sin(10 * DEG), 0, -Math.cos(10 * DEG)] as const;
    const head: HeadShape = { edgeMm: [0, 0, -40], beam };
    expect(distance(head, { ...UPRIGHT, placementMm: 0.7 })! - distance(head, UPRIGHT)!).toBeCloseTo(0.7, 9);
  });

  it('meets a sloping floor where the two lines cross', () => {
    const beam = [Math.sin(10 * DEG), 0, -Math.cos(10 * DEG)] as const;
    // 130 - t cos 10° = 0.02 (t sin 10°), in the direction the blade runs: here the bay's y.
    const expected = 130 / (Math.cos(10 * DEG) + 0.02 * Math.sin(10 * DEG));
    const found = distance({ edgeMm: [0, 0, -40], beam }, UPRIGHT, (_x, y) => 0.02 * y, Math.PI / 2);
    expect(found).toBeCloseTo(expected, 8);
  });

  it('finds nothing when it points sideways or the floor is far away', () => {
    expect(distance({ edgeMm: [0, 0, 0], beam: [1, 0, 0] }, UPRIGHT)).toBeUndefined();
    expect(distance({ edgeMm: [0, 0, 0], beam: [0, 0, -1] }, UPRIGHT, () => -1000)).toBeUndefined();
  });
});
