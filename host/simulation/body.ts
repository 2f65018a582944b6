import type { FixtureBody } from './world';

/**
 * The simulated fixture's head in its two pinned positions: for cut heights of about 25 to 95 mm and 65 to 135 mm with a
 * laser of the 65-135 mm class. The beam leans by half a degree and the sensor sits 30 mm inboard of the edge.
 */
export const EXAMPLE_BODY: FixtureBody = [
  { edgeMm: [-30, 2, -40], beam: unit(0.008, -0.006, -1) },
  { edgeMm: [-30, 2, 0], beam: unit(0.008, -0.006, -1) },
];

function unit(x: number, y: number, z: number): readonly [number, number, number] {
  const length = Math.sqrt(x * x + y * y + z * z);
  return [x / length, y / length, z / length];
}
