/** From a distance along the fixture's beam to the height of the cutting edge above the spot. */
import { toFloat } from './number';

export type Vector = readonly [number, number, number];

/** True shape of the fixture's head: see `tipHeightMm`. */
export interface Beam {
  /** Unit vector along the beam, fixture frame; straight down is (0, 0, -1). */
  readonly beam: Vector;
  /** Cutting-edge reference point from the origin of the distance, fixture frame. */
  readonly edgeMm: Vector;
}

/**
 * h = n.e - d (n.u), with n the upward unit vector (gravity as the accelerometer shows it at rest, any unit, not zero), e
 * the edge, u the beam and d the distance. A lever arm of 30 mm and one degree make 0.5 mm, so the tilt always counts.
 * Only sums, products, quotients and a square root: fixture and host agree to the bit.
 */
export function tipHeightMm(shape: Beam, distanceMm: number, gravity: Vector): number {
  const size = Math.sqrt(dot(gravity, gravity));
  return dot(gravity, shape.edgeMm) / size - toFloat(distanceMm) * (dot(gravity, shape.beam) / size);
}

/** Cosine of the angle between the beam and straight down: 1 when the beam is plumb. */
export function beamTiltCosine(shape: Beam, gravity: Vector): number {
  return (0 - dot(gravity, shape.beam)) / Math.sqrt(dot(gravity, gravity));
}

/** Distance by linear interpolation; outside the knots it stays at the end value and says so. */
export interface Linearised {
  readonly distanceUm: number;
  readonly inRange: boolean;
}

/**
 * Looks a converter reading up in the calibration's knots: pairs of reading (counts x 256) and distance (um), rising in
 * the reading. Fewer than two pairs: distance 0, out of range.
 */
export function linearise(knots: readonly number[], countsX256: number): Linearised {
  const pairs = Math.floor(knots.length / 2);
  if (pairs < 2) return { distanceUm: toFloat(0), inRange: false };
  const counts = toFloat(countsX256);
  if (!(counts >= knots[0])) return { distanceUm: toFloat(knots[1]), inRange: false };
  for (let k = 1; k < pairs; k++) {
    const to = toFloat(knots[2 * k]);
    if (counts <= to) {
      const from = toFloat(knots[2 * k - 2]);
      const near = toFloat(knots[2 * k - 1]);
      const far = toFloat(knots[2 * k + 1]);
      return { distanceUm: near + (far - near) * ((counts - from) / (to - from)), inRange: true };
    }
  }
  return { distanceUm: toFloat(knots[2 * pairs - 1]), inRange: false };
}

function dot(a: Vector, b: Vector): number {
  return toFloat(a[0]) * toFloat(b[0]) + toFloat(a[1]) * toFloat(b[1]) + toFloat(a[2]) * toFloat(b[2]);
}
