/**
 * What the simulated fixture feels at one moment. The shop (floor, machine, technician) computes it; the simulated parts
 * turn it into register contents. This is the only thing that passes between the two.
 */
export interface Scene {
  /** True distance along the beam from the sensor's origin to the surface it hits; undefined: nothing in reach. */
  readonly distanceMm: number | undefined;
  /** Standard deviation of the distance noise of one sample on this surface (speckle); glare makes it large. */
  readonly speckleMm: number;
  /** Specific force in the fixture frame in g, without sensor errors; at rest it points up and has length 1. */
  readonly forceG: readonly [number, number, number];
  /** Turn rate in the fixture frame, degrees a second, without sensor errors. */
  readonly turnRateDegS: readonly [number, number, number];
  readonly temperatureC: number;
  /** Pinned position of the head: 0 low, 1 high. */
  readonly headPosition: 0 | 1;
  readonly buttonDown: boolean;
}

/** Scenes over simulated time. `timeUs` never runs backwards. */
export interface World {
  sceneAt(timeUs: number): Scene;
}

/**
 * The true shape of one pinned position of a fixture's head, shared by the shop (which traces the beam) and the parts
 * (which read it). Fixture frame: origin where the beam's distance counts from; x toward the blade's centre, y to the
 * left when looking along x, z up when the blade is level.
 */
export interface HeadShape {
  /** Cutting-edge reference point in the fixture frame, mm. */
  readonly edgeMm: readonly [number, number, number];
  /** Unit vector of the beam in the fixture frame; straight down is (0, 0, -1). */
  readonly beam: readonly [number, number, number];
}

/** Low position, then high position. */
export type FixtureBody = readonly [HeadShape, HeadShape];
