/** Where the laser spot lies from the tip, from the shape of the fixture as its calibrations state it. */
import type { SpotOffset } from '../../protocol/solver';
import type { JobState } from './state';

/** A beam that leans moves the spot with the distance; the middle of the laser's reach is near enough. */
const DISTANCE_MM = 100;
const BEAM_UNIT = 1e9;

/**
 * Fixture frame: x toward the blade's centre, y to the left when looking along x. The spot lies at d u - e from the edge.
 * The mean over the job's fixtures and head positions, which differ by less than the blade is pointed by eye. Undefined
 * before a fixture has joined.
 */
export function spotOffset(state: Pick<JobState, 'fixtures'>): SpotOffset | undefined {
  const calibrations = state.fixtures.flatMap((f) => f.calibrations);
  if (calibrations.length === 0) return undefined;
  const mean = (of: (c: (typeof calibrations)[number]) => number) =>
    calibrations.reduce((sum, c) => sum + of(c), 0) / calibrations.length;
  return {
    outwardMm: mean((c) => c.edgeX / 1000 - (DISTANCE_MM * c.beamX) / BEAM_UNIT),
    leftMm: mean((c) => c.edgeY / 1000 - (DISTANCE_MM * c.beamY) / BEAM_UNIT),
  };
}
