import type { FixtureBody } from './world';

/**
 * The simulated fixture's head in its two pinned positions: for cut heights of about 25 to 95 mm and 65 to 135 mm with a
 * laser of the 65-135 mm class. The beam leans by half a degree and stands 12 mm in front of the cutting edge, as near as
 * a sensor's housing lets it.
 */
export const EXAMPLE_BODY: FixtureBody = [
  { edgeMm: [0, -12, -40], beam: unit(0.008, -0.006, -1) },
  { edgeMm: [0, -12, 0], beam: unit(0.008, -0.006, -1) },
];

function unit(x: number, y: number, z: number): readonly [number, number, number] {
  const length = Math.sqrt(x * x + y * y + z * z);
  return [x / length, y / length, z / length];
}
