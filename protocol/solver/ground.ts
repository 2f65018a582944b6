/** The floor under the spots, and the plane through the wheel contacts from which heights count. */
import type { Layout, Point, Wheel } from './layout';
import { exponential, toFloat, zeros } from './number';

/** Height of the wheel plane at (x, y) as weights of the floor heights under the wheels: at0 + perX x + perY y, per wheel. */
export interface GroundWeights {
  readonly at0: readonly number[];
  readonly perX: readonly number[];
  readonly perY: readonly number[];
}

interface Contact extends Point {
  readonly wheels: readonly number[];
  /** Share of all weight. */
  readonly load: number;
}

/**
 * Three wheels: the plane through them. Four on a rigid frame: least squares weighted by load,
 * since a wheel with little on it says little about how the machine stands. A pivoting front axle: the rear pair and the
 * middle of the front pair, so that no twist remains. Wheels in one line give numbers that are not finite.
 */
export function groundWeights(layout: Layout): GroundWeights {
  const contacts = contactsOf(layout);
  let xMean = toFloat(0);
  let yMean = toFloat(0);
  for (const contact of contacts) {
    xMean += contact.load * contact.xMm;
    yMean += contact.load * contact.yMm;
  }
  let xx = toFloat(0);
  let xy = toFloat(0);
  let yy = toFloat(0);
  for (const contact of contacts) {
    const x = contact.xMm - xMean;
    const y = contact.yMm - yMean;
    xx += contact.load * x * x;
    xy += contact.load * x * y;
    yy += contact.load * y * y;
  }
  const determinant = xx * yy - xy * xy;
  const at0 = zeros(layout.wheels.length);
  const perX = zeros(layout.wheels.length);
  const perY = zeros(layout.wheels.length);
  for (const contact of contacts) {
    const x = contact.xMm - xMean;
    const y = contact.yMm - yMean;
    const slopeX = (contact.load * (yy * x - xy * y)) / determinant;
    const slopeY = (contact.load * (xx * y - xy * x)) / determinant;
    for (const wheel of contact.wheels) {
      const share = contact.wheels.length;
      at0[wheel] = (contact.load - slopeX * xMean - slopeY * yMean) / share;
      perX[wheel] = slopeX / share;
      perY[wheel] = slopeY / share;
    }
  }
  return { at0, perX, perY };
}

function contactsOf(layout: Layout): Contact[] {
  const { wheels } = layout;
  const loads = loadsOf(wheels);
  const contacts: Contact[] = [];
  if (layout.groundPlane !== 'pivoting front axle' || wheels.length < 4) {
    for (let i = 0; i < wheels.length; i++) contacts.push(contactOf(wheels[i], i, loads[i]));
    return contacts;
  }
  // The two foremost wheels hang on the pivoting axle.
  let first = 0;
  for (let i = 1; i < wheels.length; i++) if (wheels[i].xMm > wheels[first].xMm) first = i;
  let second = first === 0 ? 1 : 0;
  for (let i = 0; i < wheels.length; i++) {
    if (i !== first && wheels[i].xMm > wheels[second].xMm) second = i;
  }
  for (let i = 0; i < wheels.length; i++) {
    if (i !== first && i !== second) contacts.push(contactOf(wheels[i], i, loads[i]));
  }
  contacts.push({
    xMm: (toFloat(wheels[first].xMm) + wheels[second].xMm) / 2,
    yMm: (toFloat(wheels[first].yMm) + wheels[second].yMm) / 2,
    wheels: [first, second],
    load: loads[first] + loads[second],
  });
  return contacts;
}

/** Shares that add up to 1; even ones unless every wheel has its own. */
function loadsOf(wheels: readonly Wheel[]): number[] {
  let sum = toFloat(0);
  let all = true;
  for (const { loadShare } of wheels) {
    if (loadShare === undefined) all = false;
    else sum += loadShare;
  }
  const loads: number[] = [];
  for (const { loadShare } of wheels) {
    loads.push(all && loadShare !== undefined ? loadShare / sum : 1 / toFloat(wheels.length));
  }
  return loads;
}

function contactOf(wheel: Point, index: number, load: number): Contact {
  return { xMm: toFloat(wheel.xMm), yMm: toFloat(wheel.yMm), wheels: [index], load };
}

/** A tip and the laser spot under it. */
export interface TipAndSpot extends Point {
  readonly spot: Point;
}

/**
 * Covariance of F(spot) - G(tip) between all places, lower triangle by rows: F is the floor, a Gaussian process of mean zero
 * with the given standard deviation, alike over the given length (squared-exponential covariance), and G the wheel plane,
 * which stands on the same floor.
 */
export function floorCovariance(
  layout: Layout,
  places: readonly TipAndSpot[],
  floorMm: number,
  floorLengthMm: number,
): number[][] {
  const plane = groundWeights(layout);
  const { wheels } = layout;
  const betweenWheels: number[][] = [];
  for (const a of wheels) betweenWheels.push(alikeness(a, wheels, floorLengthMm));
  const variance = toFloat(floorMm) * floorMm;
  const weights: number[][] = [];
  const toWheels: number[][] = [];
  const rows: number[][] = [];
  for (let s = 0; s < places.length; s++) {
    const place = places[s];
    const g = zeros(wheels.length);
    for (let i = 0; i < wheels.length; i++) {
      g[i] = plane.at0[i] + plane.perX[i] * place.xMm + plane.perY[i] * place.yMm;
    }
    weights.push(g);
    const near = alikeness(place.spot, wheels, floorLengthMm);
    toWheels.push(near);
    const pull = zeros(wheels.length);
    for (let j = 0; j < wheels.length; j++) {
      let sum = 0 - near[j];
      for (let i = 0; i < wheels.length; i++) sum += g[i] * betweenWheels[i][j];
      pull[j] = sum;
    }
    const row: number[] = [];
    for (let t = 0; t <= s; t++) {
      let sum = alike(place.spot, places[t].spot, floorLengthMm);
      for (let j = 0; j < wheels.length; j++) sum += weights[t][j] * pull[j] - g[j] * toWheels[t][j];
      row.push(variance * sum);
    }
    rows.push(row);
  }
  return rows;
}

function alikeness(from: Point, to: readonly Point[], lengthMm: number): number[] {
  const list: number[] = [];
  for (const point of to) list.push(alike(from, point, lengthMm));
  return list;
}

/** Correlation of the floor's heights at two points. */
export function alike(a: Point, b: Point, lengthMm: number): number {
  const x = toFloat(a.xMm) - b.xMm;
  const y = toFloat(a.yMm) - b.yMm;
  const squared = x * x + y * y;
  if (squared === 0) return toFloat(1);
  return exponential((0 - squared) / (2 * toFloat(lengthMm) * lengthMm));
}
