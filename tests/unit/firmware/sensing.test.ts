/** Despiking, the still window and the turn, on numbers made up for the purpose. Ideal times are those of sqrt(n). */
import { expect, it } from 'vitest';
import { DESPIKE_LAG_SAMPLES, createDespiker } from '../../../firmware/sensing/despike';
import { createStillWindow } from '../../../firmware/sensing/still-window';
import { createTurn } from '../../../firmware/sensing/turn';
import { seededRandom } from '../../../host/simulation/random';

function despiked(samples: readonly number[]): number[] {
  const despiker = createDespiker();
  return samples.map((s) => despiker.push(s)).filter((s) => s !== undefined);
}

it('the Hampel filter removes single and double spikes and leaves steps and ramps as they are', () => {
  const random = seededRandom(11);
  const noise = Array.from({ length: 400 }, () => Math.round(random.normal(20)));
  const spiky = noise.map((n, i) => (i % 40 === 20 || i % 120 === 21 ? n + 4000 : n));
  expect(Math.max(...despiked(spiky))).toBeLessThan(100);

  const step = noise.map((n, i) => n + (i < 200 ? 0 : 3000));
  const out = despiked(step);
  const edge = out.findIndex((s) => s > 1500);
  expect(edge + DESPIKE_LAG_SAMPLES).toBe(200);
  expect(Math.max(...out.slice(0, edge))).toBeLessThan(100);
  expect(Math.min(...out.slice(edge))).toBeGreaterThan(2900);

  const ramp = Array.from({ length: 100 }, (_, i) => i * 10);
  expect(despiked(ramp)).toEqual(ramp.slice(3, -3));
});

it('the filter takes the median of seven where it replaces, checked against sorting', () => {
  const random = seededRandom(12);
  const samples = Array.from(
    { length: 3000 },
    () => 8000 + Math.round(random.normal(random.chance(0.1) ? 500 : 10)),
  );
  const out = despiked(samples);
  let replaced = 0;
  out.forEach((value, i) => {
    const window = samples.slice(i, i + 7);
    const sort = (list: number[]) => [...list].sort((a, b) => a - b);
    const median = sort(window)[3];
    const deviation = sort(window.map((s) => Math.abs(s - median)))[3];
    const away = Math.abs(window[3] - median);
    const spike = away >= 4 && away > 4 * 1.4826 * deviation;
    if (spike) replaced++;
    expect(value).toBe(spike ? median : window[3]);
  });
  expect(replaced).toBeGreaterThan(50);
});

/** Samples until the mean is as good as asked, or undefined when that does not happen within `limit`. */
function samplesToSettle(signal: (i: number) => number, target: number, limit = 7500): number | undefined {
  const window = createStillWindow();
  for (let i = 0; i < limit; i++) {
    window.add(signal(i), 0, 0, 1e6, 2000, target);
    const error = window.standardError();
    if (window.samples() >= 16 && !window.drifting() && error !== undefined && error <= target) return i + 1;
  }
  return undefined;
}

it('for stationary noise it settles within 1.3 times the ideal number of samples', () => {
  for (const ideal of [30, 100, 400, 1600]) {
    const sd = 50;
    const target = sd / Math.sqrt(ideal);
    const counts: number[] = [];
    for (let seed = 0; seed < 200; seed++) {
      const random = seededRandom(1000 * ideal + seed);
      counts.push(samplesToSettle(() => Math.round(8000 + random.normal(sd)), target)!);
    }
    counts.sort((a, b) => a - b);
    const mean = counts.reduce((sum, n) => sum + n, 0) / counts.length;
    expect(mean / ideal).toBeGreaterThan(0.85);
    expect(mean / ideal).toBeLessThan(1.3);
    expect(counts[190] / ideal).toBeLessThan(1.5);
  }
});

it('the mean is as good as it says: errors over many windows match the target', () => {
  const target = 5;
  let squares = 0;
  const runs = 300;
  for (let seed = 0; seed < runs; seed++) {
    const random = seededRandom(seed);
    const window = createStillWindow();
    do window.add(1000.25 + random.normal(50), 0, 0, 1e6, 2000, target);
    while (window.samples() < 16 || window.standardError()! > target);
    squares += (window.mean() - 1000.25) ** 2;
  }
  // Stopping as soon as the estimate allows makes the true error slightly larger than the target.
  expect(Math.sqrt(squares / runs) / target).toBeGreaterThan(0.85);
  expect(Math.sqrt(squares / runs) / target).toBeLessThan(1.2);
});

it('it does not settle on a drift that exceeds the noise, and does when the drift ends', () => {
  let early = 0;
  for (let seed = 0; seed < 40; seed++) {
    const random = seededRandom(seed);
    const drifting = (i: number) => 8000 + Math.min(i, 1500) * 8 + random.normal(20);
    const at = samplesToSettle(drifting, 11, 4000);
    expect(at).toBeDefined();
    if (at! < 1500) early++;
    expect(at).toBeLessThan(1560);
  }
  expect(early).toBe(0);
});

it('forgets what is older than the noise demands', () => {
  const random = seededRandom(5);
  const window = createStillWindow();
  for (let i = 0; i < 5000; i++) window.add(4000 + random.normal(50), 0, 0, 1e6, 2000, 5);
  expect(window.samples()).toBeGreaterThan(90);
  expect(window.samples()).toBeLessThan(300);
  expect(Math.abs(window.mean() - 4000)).toBeLessThan(20);
});

it('the turn is integrated about the vertical with the bias taken off, whatever the tilt', () => {
  const random = seededRandom(6);
  const turn = createTurn();
  const bias = [4000, -7000, 2500];
  const up = [0.1, 0.05, Math.sqrt(1 - 0.0125)];
  const feel = (rateDegS: number, samples: number) => {
    for (let i = 0; i < samples; i++) {
      const [x, y, z] = up.map((u, axis) => u * rateDegS * 1000 + bias[axis] + random.normal(100));
      turn.take(x, y, z, up[0] * 1e6, up[1] * 1e6, up[2] * 1e6, 0.004);
    }
  };
  feel(0, 500);
  expect(turn.moving()).toBe(false);
  turn.zero();
  feel(60, 375);
  expect(turn.moving()).toBe(true);
  feel(0, 2500);
  expect(turn.moving()).toBe(false);
  expect(Math.abs(turn.turnedDeg() - 90)).toBeLessThan(0.5);
  feel(-45, 500);
  feel(0, 100);
  expect(Math.abs(turn.turnedDeg())).toBeLessThan(0.7);
});

it('a bias that jumps is believed after two seconds at rest', () => {
  const random = seededRandom(8);
  const turn = createTurn();
  const feel = (biasMdegS: number, samples: number) => {
    for (let i = 0; i < samples; i++) {
      turn.take(random.normal(100), random.normal(100), biasMdegS + random.normal(100), 0, 0, 1e6, 0.004);
    }
  };
  feel(0, 200);
  feel(3000, 300);
  expect(turn.moving()).toBe(true);
  feel(3000, 400);
  expect(turn.moving()).toBe(false);
});
