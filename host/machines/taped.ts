/** A machine never seen before: its geometry was taken from outside with a tape. */
import type { MachineProfile } from './profile';

type Tape = NonNullable<MachineProfile['uncertaintyMm']>;

/** What a tape laid along a machine by one person gives, per dimension (a guess on the safe side, no source). */
export const TAPE_MM = 10;

/** The profile with its geometry known to a standard deviation of `sdMm` per dimension; one that says so itself keeps its own. */
export function asTaped(profile: MachineProfile, sdMm = TAPE_MM): MachineProfile {
  const tape: Tape = { spindleMm: sdMm, tipRadiusMm: sdMm, wheelMm: sdMm, hangerMm: sdMm };
  return { ...profile, uncertaintyMm: profile.uncertaintyMm ?? tape };
}
