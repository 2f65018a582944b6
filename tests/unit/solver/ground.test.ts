/** The plane under the wheels, by family. */
import { expect, test } from 'vitest';
import { Matrix, solve as solveMatrix } from 'ml-matrix';
import { groundWeights, type GroundPlane, type Wheel } from '../../../protocol/solver';
import { seededRandom } from '../../../host/simulation/random';

const four = [
  { xMm: 0, yMm: 450 },
  { xMm: 1250, yMm: -380 },
  { xMm: 0, yMm: -450 },
  { xMm: 1250, yMm: 380 },
];

function heightAt(
  wheels: readonly Wheel[],
  groundPlane: GroundPlane,
  floor: readonly number[],
  x: number,
  y: number,
) {
  const { at0, perX, perY } = groundWeights({ spindles: [], wheels, groundPlane });
  return floor.reduce((sum, f, i) => sum + f * (at0[i] + perX[i] * x + perY[i] * y), 0);
}

test('three wheels: the plane goes through all contacts', () => {
  const wheels = four.slice(0, 3);
  for (const [i, { xMm, yMm }] of wheels.entries()) {
    expect(heightAt(wheels, 'three wheels', [3, -2, 5], xMm, yMm)).toBeCloseTo([3, -2, 5][i], 10);
  }
});

test('pivoting front axle: through the rear contacts and the middle of the front ones, wherever they stand in the list', () => {
  const floor = [3, -2, 5, 8];
  expect(heightAt(four, 'pivoting front axle', floor, 0, 450)).toBeCloseTo(3, 10);
  expect(heightAt(four, 'pivoting front axle', floor, 0, -450)).toBeCloseTo(5, 10);
  expect(heightAt(four, 'pivoting front axle', floor, 1250, 0)).toBeCloseTo(3, 10);
});

test('rigid four wheels: least squares, as ml-matrix has it', () => {
  const random = seededRandom(8);
  for (let round = 0; round < 50; round++) {
    const wheels = four.map(({ xMm, yMm }) => ({
      xMm: xMm + random.normal(50),
      yMm: yMm + random.normal(50),
    }));
    const floor = wheels.map(() => random.normal(3));
    const rows = new Matrix(wheels.map(({ xMm, yMm }) => [1, xMm, yMm]));
    const [z, a, b] = solveMatrix(rows, Matrix.columnVector(floor)).to1DArray();
    expect(heightAt(wheels, 'rigid four wheels', floor, 600, 200)).toBeCloseTo(z + a * 600 + b * 200, 9);
  }
});

test('rigid four wheels with known loads: least squares weighted by load, as ml-matrix has it', () => {
  const random = seededRandom(9);
  for (let round = 0; round < 50; round++) {
    const parts = four.map(() => random.between(0.2, 1));
    const whole = parts.reduce((a, b) => a + b, 0);
    const wheels = four.map((wheel, i) => ({ ...wheel, loadShare: parts[i] / whole }));
    const floor = wheels.map(() => random.normal(3));
    const roots = wheels.map((wheel) => Math.sqrt(wheel.loadShare));
    const rows = new Matrix(wheels.map(({ xMm, yMm }, i) => [roots[i], roots[i] * xMm, roots[i] * yMm]));
    const [z, a, b] = solveMatrix(rows, Matrix.columnVector(floor.map((f, i) => roots[i] * f))).to1DArray();
    expect(heightAt(wheels, 'rigid four wheels', floor, 600, 200)).toBeCloseTo(z + a * 600 + b * 200, 9);
  }
});
