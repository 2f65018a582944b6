/** Our own sines, exponentials and logarithms against the runtime's. */
import { expect, test } from 'vitest';
import { cosSinDeg, exponential, logarithm } from '../../../protocol/solver/number';
import { seededRandom } from '../../../host/simulation/random';

test('within 1e-15 of the runtime', () => {
  const random = seededRandom(3);
  for (let round = 0; round < 5000; round++) {
    const angle = random.between(-720, 720);
    const { cos, sin } = cosSinDeg(angle);
    expect(Math.abs(cos - Math.cos((angle * Math.PI) / 180))).toBeLessThan(3e-15);
    expect(Math.abs(sin - Math.sin((angle * Math.PI) / 180))).toBeLessThan(3e-15);
    const x = random.between(-700, 700);
    expect(Math.abs(exponential(x) / Math.exp(x) - 1)).toBeLessThan(1e-15);
    const y = 10 ** random.between(-300, 300);
    expect(Math.abs(logarithm(y) - Math.log(y))).toBeLessThan(1e-15 * Math.max(1, Math.abs(Math.log(y))));
  }
});

test('exact at the axes', () => {
  expect([-90, 0, 90, 180, 270].map((a) => cosSinDeg(a).cos + 0)).toEqual([0, 1, 0, -1, 0]);
  expect([-90, 0, 90, 180, 270].map((a) => cosSinDeg(a).sin + 0)).toEqual([-1, 0, 1, 0, -1]);
});

test('ends of the range', () => {
  expect(exponential(0)).toBe(1);
  expect(exponential(-1000)).toBe(0);
  expect(exponential(1000)).toBe(Infinity);
  expect(logarithm(1)).toBe(0);
  expect(logarithm(0)).toBe(-Infinity);
  expect(Math.abs(logarithm(5e-324) - Math.log(5e-324))).toBeLessThan(1e-12);
});
