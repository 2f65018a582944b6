/** What a straightedge says of a floor: against floors drawn by the simulation, which shares no code with the solver. */
import { expect, test } from 'vitest';
import { floorWidth, STRAIGHTEDGE_ITEM, straightedgeText } from '../../../host/bay/straightedge';
import { loadProfile } from '../../../host/machines/load';
import { createFloor } from '../../../host/simulation/floor';
import { POPULATION } from '../../../host/simulation/population';
import { seededRandom } from '../../../host/simulation/random';
import { unevennessMm } from '../../../host/simulation/straightedge';

const profile = loadProfile('dunfallow-116');
const PARKED = { xMm: 0, yMm: 0, headingRad: 0 };

function rangesOn(floorSdMm: number, floorCorrelationMm: number, floors = 1500): number[] {
  const population = { ...POPULATION, floorSdMm, floorCorrelationMm, floorSlopeSd: 0.004 };
  return Array.from({ length: floors }, (_, i) =>
    unevennessMm(profile, createFloor(seededRandom(i).split('straightedge'), population), PARKED),
  );
}

const rootMeanSquare = (list: number[]) => Math.sqrt(list.reduce((sum, x) => sum + x * x, 0) / list.length);

test('floors alike over a metre show a range of 0.91 deviations, give or take 40 %, whatever their slope', () => {
  const ranges = rangesOn(1, 1000);
  const mean = ranges.reduce((sum, x) => sum + x, 0) / ranges.length;
  const scatter = rootMeanSquare(ranges.map((x) => x - mean)) / mean;
  expect(rootMeanSquare(ranges)).toBeCloseTo(0.91, 1);
  expect(scatter).toBeGreaterThan(0.35);
  expect(scatter).toBeLessThan(0.45);
});

test('no straightedge: as assumed; a flat floor is taken for flatter, an uneven one for what it is', () => {
  expect(floorWidth(undefined)).toEqual({ floorMm: 1, degreesOfFreedom: 2 });
  // Pooled by hand: sqrt((2 x 1 + 3 x 0) / 5), and sqrt((2 + 3 x (2.73 / 0.91)^2) / 5).
  expect(floorWidth(0).floorMm).toBeCloseTo(Math.sqrt(0.4), 12);
  expect(floorWidth(2.73).floorMm).toBeCloseTo(Math.sqrt(29 / 5), 12);
  expect(straightedgeText(2.73)).toContain('2.4 mm');
  expect(floorWidth(1)).toMatchObject({ degreesOfFreedom: 5 });
});

test('an old slab that has sunk is seen, a good one passes for good', () => {
  const seen = (ranges: number[]) => rootMeanSquare(ranges.map((r) => floorWidth(r).floorMm));
  expect(seen(rangesOn(1.8, 600, 300))).toBeGreaterThan(1.8);
  expect(seen(rangesOn(0.5, 1500, 300))).toBeLessThan(0.75);
  expect(STRAIGHTEDGE_ITEM.number?.upper).toBeGreaterThan(rootMeanSquare(rangesOn(1.8, 1000, 300)));
});
