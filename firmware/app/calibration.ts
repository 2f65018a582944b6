/** Which calibrations are believed, whether they come over the wire or out of the memory. */
import type { Body, FixtureErrorName } from '../../protocol/wire';

const KNOT_PAIRS_MAX = 16;
/** Of a knot's distance, and of each component of the edge: a metre, ten times what any head measures. */
const LENGTH_UM_MAX = 1000000;

/**
 * The error that stands against a calibration; undefined: it is a good one.
 *
 * With these bounds no distance and no height leaves the wire's i32, whatever the temperature: its gain and its range make
 * a distance at most 1 + 2.15 * 655.35 = 1409 times as long as its knots say, that is 1.41e9 um; the beam is a unit
 * vector, and the edge adds at most 1.74e6 um.
 */
export function calibrationFault(calibration: Body<'calibration'>): FixtureErrorName | undefined {
  const { headPosition, beamX, beamY, beamZ, edgeX, edgeY, edgeZ, knots } = calibration;
  if (headPosition > 1 || !isUnit(beamX / 1e9, beamY / 1e9, beamZ / 1e9)) return 'malformed message';
  const edgeReached =
    Math.abs(edgeX) <= LENGTH_UM_MAX && Math.abs(edgeY) <= LENGTH_UM_MAX && Math.abs(edgeZ) <= LENGTH_UM_MAX;
  return edgeReached && knotsMap(knots) ? undefined : 'calibration refused';
}

function isUnit(x: number, y: number, z: number): boolean {
  return Math.abs(x * x + y * y + z * z - 1) < 1e-6;
}

/** Two to sixteen pairs, rising in the converter reading, to distances that there can be. */
function knotsMap(knots: readonly number[]): boolean {
  const pairs = Math.floor(knots.length / 2);
  if (pairs * 2 !== knots.length || pairs < 2 || pairs > KNOT_PAIRS_MAX) return false;
  for (let i = 2; i < knots.length; i += 2) if (knots[i] <= knots[i - 2]) return false;
  for (let i = 1; i < knots.length; i += 2) if (knots[i] < 0 || knots[i] > LENGTH_UM_MAX) return false;
  return true;
}
