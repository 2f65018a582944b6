import type { MachineProfile } from '../machines/profile';
import type { Floor } from './floor';
import { fittedPlane, planeThrough, type Plane, type Point, type Spot } from './plane';
import { restOnSupports } from './statics';

/** Where the machine's origin stands in the bay, and how far its x axis is turned to the left of the bay's. */
export interface Parked extends Spot {
  readonly headingRad: number;
}

/**
 * The machine on its wheels. Both planes give heights in the bay (along gravity) over places in the machine's frame.
 * Slopes are a few mm per m, so places are not shifted for them: at 100 mm of height that is half a millimetre sideways.
 */
export interface Standing {
  /** The plane that the chassis takes, at ground height: its hangers move with it. */
  readonly chassis: Plane;
  /** The ground that heights count from: the plane through the wheel contacts, by family. */
  readonly ground: Plane;
}

/** Share of the wheelbase, from the rear axle, at which a rigid chassis has its weight. Invented: tail-heavy. */
const CHASSIS_WEIGHT_AT = 0.35;

/** What lies under a wheel, by its name. */
export type Shims = Readonly<Record<string, number>>;

export function stand(profile: MachineProfile, floor: Floor, parked: Parked, shims: Shims = {}): Standing {
  const contacts = profile.wheels.map((wheel): Point => {
    const spot = inBay(parked, wheel.xMm, wheel.yMm);
    const zMm = floor.heightMm(spot.xMm, spot.yMm) + (shims[wheel.name] ?? 0);
    return { xMm: wheel.xMm, yMm: wheel.yMm, zMm };
  });
  const fromRear = [...contacts].sort((a, b) => a.xMm - b.xMm);
  switch (profile.groundPlane) {
    case 'three wheels':
      return standingOn(fromRear[0], fromRear[1], fromRear[2]);
    case 'pivoting front axle':
      return standingOn(fromRear[0], fromRear[1], middle(fromRear.slice(2)));
    case 'rigid four wheels': {
      const rear = middle(fromRear.slice(0, 2));
      const front = middle(fromRear.slice(2));
      const loads = profile.wheels.flatMap((wheel) => wheel.loadShare ?? []);
      const known = loads.length === contacts.length;
      // The weight lies where the loads on the wheels say, or where such machines have it.
      const weight = known
        ? balance(contacts, loads)
        : {
            xMm: rear.xMm + CHASSIS_WEIGHT_AT * (front.xMm - rear.xMm),
            yMm: rear.yMm + CHASSIS_WEIGHT_AT * (front.yMm - rear.yMm),
          };
      const heights = contacts.map((contact) => contact.zMm);
      return {
        chassis: restOnSupports(contacts, heights, weight),
        ground: fittedPlane(contacts, known ? loads : undefined),
      };
    }
  }
}

/** A place of the machine's frame in the bay. */
export function inBay(parked: Parked, xMm: number, yMm: number): Spot {
  const cos = Math.cos(parked.headingRad);
  const sin = Math.sin(parked.headingRad);
  return { xMm: parked.xMm + cos * xMm - sin * yMm, yMm: parked.yMm + sin * xMm + cos * yMm };
}

function standingOn(a: Point, b: Point, c: Point): Standing {
  const plane = planeThrough(a, b, c);
  if (plane === undefined) throw new Error('the wheels stand on one line: the machine falls over');
  return { chassis: plane, ground: plane };
}

function balance(points: readonly Point[], loads: readonly number[]): Spot {
  const mean = (of: (point: Point) => number) =>
    points.reduce((sum, point, i) => sum + loads[i] * of(point), 0) / loads.reduce((a, b) => a + b, 0);
  return { xMm: mean((p) => p.xMm), yMm: mean((p) => p.yMm) };
}

function middle(points: readonly Point[]): Point {
  const mean = (of: (point: Point) => number) =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  return { xMm: mean((p) => p.xMm), yMm: mean((p) => p.yMm), zMm: mean((p) => p.zMm) };
}
