import { describe, expect, it } from 'vitest';
import { heightAt } from '../../../host/simulation/plane';
import { seededRandom } from '../../../host/simulation/random';
import { restOnSupports } from '../../../host/simulation/statics';

const corners = [
  { xMm: 400, yMm: 300 },
  { xMm: 400, yMm: -300 },
  { xMm: -400, yMm: 300 },
  { xMm: -400, yMm: -300 },
];

describe('a deck on its hangers', () => {
  it('takes the plane of three hangers', () => {
    const hangers = [
      { xMm: 0, yMm: 300 },
      { xMm: 0, yMm: -300 },
      { xMm: 600, yMm: 0 },
    ];
    // By hand: 100 + 0.01 x - 0.02 y at the three places.
    const rest = restOnSupports(hangers, [94, 106, 106], { xMm: 200, yMm: 0 });
    expect(rest.z0Mm).toBeCloseTo(100, 9);
    expect(rest.slopeX).toBeCloseTo(0.01, 12);
    expect(rest.slopeY).toBeCloseTo(-0.02, 12);
    expect(rest.carrying).toEqual([true, true, true]);
    // Moments by hand: a third of the way from the rear pair to the front.
    expect(rest.share.map((s) => s.toFixed(9))).toEqual(['0.333333333', '0.333333333', '0.333333333']);
  });

  it('lets the fourth go slack', () => {
    // By hand: the front left is 4 mm high, so the diagonal through it carries; the weight is on the rear-left side of
    // that diagonal, so the rear left carries too and the front right hangs 4 mm slack. Moments about both axes give
    // 0.45, 0.05 and 0.5 of the weight.
    const rest = restOnSupports(corners, [104, 100, 100, 100], { xMm: -40, yMm: 0 });
    expect(rest.z0Mm).toBeCloseTo(102, 9);
    expect(rest.slopeX).toBeCloseTo(0.005, 12);
    expect(rest.slopeY).toBeCloseTo(0, 12);
    expect(rest.carrying).toEqual([true, false, true, true]);
    expect(rest.slackMm[1]).toBeCloseTo(4, 9);
    expect(rest.share.map((s) => s.toFixed(9))).toEqual([
      '0.450000000',
      '0.000000000',
      '0.050000000',
      '0.500000000',
    ]);
  });

  it('carries on all four when they lie in one plane', () => {
    const rest = restOnSupports(corners, [104, 104, 96, 96], { xMm: 13, yMm: 7 });
    expect(rest.carrying).toEqual([true, true, true, true]);
    expect(rest.slopeX).toBeCloseTo(0.01, 12);
  });

  it('tips over when the weight is outside the hangers', () => {
    expect(() => restOnSupports(corners, [100, 100, 100, 100], { xMm: 500, yMm: 0 })).toThrow(/tips over/);
  });

  it('is in equilibrium, lies as low as it can, and does not care what the ground is', () => {
    const random = seededRandom(1);
    for (let deck = 0; deck < 1000; deck++) {
      const count = 3 + Math.floor(random.between(0, 4));
      const turn = random.between(0, 1);
      // Spread around a ring, so that the polygon of the hangers contains the middle.
      const hangers = Array.from({ length: count }, (_, i) => {
        const angle = (2 * Math.PI * (i + turn + random.between(-0.2, 0.2))) / count;
        const radius = random.between(300, 600);
        return { xMm: radius * Math.cos(angle), yMm: radius * Math.sin(angle) };
      });
      const heights = hangers.map(() => 100 + random.normal(5));
      const weight = { xMm: random.between(-30, 30), yMm: random.between(-30, 30) };
      const rest = restOnSupports(hangers, heights, weight);

      // Statics: no chain pushes, forces and both moments balance, and a slack chain carries nothing.
      const total = (of: (i: number) => number) => hangers.reduce((sum, _, i) => sum + of(i), 0);
      expect(Math.min(...rest.share)).toBeGreaterThanOrEqual(0);
      expect(total((i) => rest.share[i])).toBeCloseTo(1, 9);
      expect(total((i) => rest.share[i] * hangers[i].xMm)).toBeCloseTo(weight.xMm, 6);
      expect(total((i) => rest.share[i] * hangers[i].yMm)).toBeCloseTo(weight.yMm, 6);
      expect(total((i) => rest.share[i] * rest.slackMm[i])).toBe(0);
      hangers.forEach((h, i) => {
        expect(heightAt(rest, h.xMm, h.yMm) - heights[i]).toBeCloseTo(rest.slackMm[i], 6);
      });

      // Any other way to lie on the hangers has its weight higher.
      const lowest = heightAt(rest, weight.xMm, weight.yMm);
      for (let other = 0; other < 20; other++) {
        const slopeX = rest.slopeX + random.normal(0.005);
        const slopeY = rest.slopeY + random.normal(0.005);
        const z0Mm = Math.max(...hangers.map((h, i) => heights[i] - slopeX * h.xMm - slopeY * h.yMm));
        expect(heightAt({ z0Mm, slopeX, slopeY }, weight.xMm, weight.yMm)).toBeGreaterThan(lowest - 1e-6);
      }

      const tiltedHeights = hangers.map((h, i) => heights[i] + 7 + 0.02 * h.xMm - 0.03 * h.yMm);
      const tilted = restOnSupports(hangers, tiltedHeights, weight);
      expect(tilted.slopeX - rest.slopeX).toBeCloseTo(0.02, 9);
      expect(tilted.slopeY - rest.slopeY).toBeCloseTo(-0.03, 9);
      expect(tilted.carrying).toEqual(rest.carrying);
    }
  });
});
