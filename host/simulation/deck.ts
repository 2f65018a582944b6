import type { MachineProfile } from '../machines/profile';
import type { Floor } from './floor';
import type { Linkage } from './linkage';
import { addPlanes, heightAt, LEVEL, type Plane } from './plane';
import type { Population } from './population';
import type { Random } from './random';
import { inBay, type Parked, type Shims, type Standing } from './standing';
import { restOnSupports, type Rest } from './statics';

/** The deck on its hangers. All planes are the cutting plane above the chassis plane, over the machine's frame. */
export interface Deck {
  /** Where the deck rests at its mean seating, with the hangers as they are or at these heights. */
  mean(heightsMm?: readonly number[]): Rest;
  /** Where it rests in the seating of now. */
  seated(heightsMm?: readonly number[]): Plane;
  /** Raises the deck and lowers it onto its stop: it comes to rest a little differently every time. */
  seat(): void;
}

type Support = MachineProfile['hangers'][number];

/** Where the machine stands: what a wheel under the deck needs, whose floor is not the chassis. */
export interface Footing {
  readonly floor: Floor;
  readonly parked: Parked;
  readonly standing: Standing;
  readonly shims: Shims;
}

export function createDeck(
  profile: MachineProfile,
  linkage: Linkage,
  { floor, parked, standing, shims }: Footing,
  random: Random,
  population: Population,
): Deck {
  const { xMm, yMm } = profile.centreOfGravity;
  let seating = LEVEL;
  // A wheel under the deck stands on the floor, wherever the chassis is: its height counts from there.
  const raisedMm = (support: Support): number => {
    if (support.kind !== 'stands') return 0;
    const spot = inBay(parked, support.xMm, support.yMm);
    // A wheel of the machine that the deck stands on stands on its shim.
    const wheel = profile.wheels.find((w) => w.xMm === support.xMm && w.yMm === support.yMm);
    const floorMm = floor.heightMm(spot.xMm, spot.yMm) + (shims[wheel?.name ?? ''] ?? 0);
    return floorMm - heightAt(standing.chassis, support.xMm, support.yMm);
  };
  const mean = (heightsMm = linkage.heightsMm()) =>
    restOnSupports(
      profile.hangers,
      heightsMm.map((mm, i) => mm + raisedMm(profile.hangers[i])),
      profile.centreOfGravity,
    );
  const seat = () => {
    const slopeX = random.normal(population.seatingSlopeSd);
    const slopeY = random.normal(population.seatingSlopeSd);
    // The height is drawn at the centre of gravity; the slopes turn the deck about that place.
    const heightMm = random.normal(population.seatingHeightSdMm);
    seating = { z0Mm: heightMm - slopeX * xMm - slopeY * yMm, slopeX, slopeY };
  };
  seat();
  return { mean, seated: (heightsMm) => addPlanes(mean(heightsMm), seating), seat };
}
