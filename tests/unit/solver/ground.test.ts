/** The plane under the wheels, by family. */
import { expect, test } from 'vitest';
import { Matrix, solve as solveMatrix } from 'ml-matrix';
import { groundWeights, type GroundPlane, type Point } from '../../../protocol/solver';
import { seededRandom } from '../../../host/simulation/random';

const four = [
  { xMm: 0, yMm: 450 },
  { xMm: 1250, yMm: -380 },
  { xMm: 0, yMm: -450 },
  { xMm: 1250, yMm: 380 },
];

function heightAt(
  wheels: readonly Point[],
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
