/** Where a rigid deck comes to rest on hangers that carry in one direction only. */
import type { Point } from './layout';
import { toFloat, zeros } from './number';

/** The resting plane z0 + slopeX x + slopeY y, and how far each hanger hangs below it. */
export interface Rest {
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
  /** True where the hanger touches. Hangers in one plane all touch, whether they take load or not. */
  readonly carrying: readonly boolean[];
  readonly slackMm: readonly number[];
}

/** Slack below this is rounding. */
const TOUCHING_MM = 1e-6;

/** A hanger seen from the centre of gravity. */
interface Support {
  readonly x: number;
  readonly y: number;
  readonly height: number;
}

/**
 * The deck rests where its centre of gravity is lowest with no hanger above the plane: minimise z(c) subject to
 * z(p_i) >= h_i. Solved from the dual side: three hangers whose triangle holds the centre of gravity carry; while another
 * one sticks out of their plane it takes the place of one of them (simplex method with Bland's rule). Undefined when the
 * centre of gravity is not inside the hangers' outline: the deck would tip.
 */
export function restDeck(
  hangers: readonly Point[],
  heightsMm: readonly number[],
  centreOfGravity: Point,
): Rest | undefined {
  const count = hangers.length;
  const supports: Support[] = [];
  let reach = toFloat(1);
  for (let i = 0; i < count; i++) {
    const x = toFloat(hangers[i].xMm) - centreOfGravity.xMm;
    const y = toFloat(hangers[i].yMm) - centreOfGravity.yMm;
    supports.push({ x, y, height: toFloat(heightsMm[i]) });
    reach = Math.max(reach, Math.abs(x), Math.abs(y));
  }
  const carriers = firstTriangle(supports, reach);
  if (carriers === undefined) return undefined;
  exchange(supports, carriers);
  const plane = planeThrough(supports, carriers);
  const carrying: boolean[] = [];
  const slackMm = zeros(count);
  for (let i = 0; i < count; i++) {
    const slack = 0 - above(supports[i], plane);
    const touches = slack <= TOUCHING_MM;
    carrying.push(touches);
    slackMm[i] = touches ? toFloat(0) : slack;
  }
  return {
    z0Mm: plane.centre - plane.slopeX * centreOfGravity.xMm - plane.slopeY * centreOfGravity.yMm,
    slopeX: plane.slopeX,
    slopeY: plane.slopeY,
    carrying,
    slackMm,
  };
}

/**
 * Three hangers around the centre of gravity: the same search among the hangers, all at height 0, and three helpers at
 * height -1 that surround them. A helper that still carries at the end shows that there are no such three.
 */
function firstTriangle(supports: readonly Support[], reach: number): number[] | undefined {
  const count = supports.length;
  const all: Support[] = [];
  for (const { x, y } of supports) all.push({ x, y, height: toFloat(0) });
  all.push({ x: 4 * reach, y: toFloat(0), height: toFloat(-1) });
  all.push({ x: -2 * reach, y: 3 * reach, height: toFloat(-1) });
  all.push({ x: -2 * reach, y: -3 * reach, height: toFloat(-1) });
  const carriers = [count, count + 1, count + 2];
  exchange(all, carriers);
  for (const carrier of carriers) if (carrier >= count) return undefined;
  return carriers;
}

/** Exchanges carriers until no support sticks out of their plane. The cap only guards against rounding at a tie. */
function exchange(supports: readonly Support[], carriers: number[]): void {
  for (let pass = 0; pass < 200; pass++) {
    const plane = planeThrough(supports, carriers);
    let entering = -1;
    for (let i = 0; i < supports.length && entering < 0; i++) {
      const isCarrier = i === carriers[0] || i === carriers[1] || i === carriers[2];
      const tolerance = 1e-12 * (1 + Math.abs(supports[i].height) + Math.abs(plane.centre));
      if (!isCarrier && above(supports[i], plane) > tolerance) entering = i;
    }
    if (entering < 0) return;
    // The load that the newcomer takes grows until one of the old three has none left.
    const loads = shares(supports, carriers, toFloat(0), toFloat(0));
    const relief = shares(supports, carriers, supports[entering].x, supports[entering].y);
    let leaving = -1;
    for (let k = 0; k < 3; k++) {
      if (relief[k] > 1e-12) {
        const ratio = Math.max(loads[k], 0) / relief[k];
        const best = leaving < 0 ? Infinity : Math.max(loads[leaving], 0) / relief[leaving];
        if (ratio < best || (ratio === best && carriers[k] < carriers[leaving])) leaving = k;
      }
    }
    if (leaving < 0) return;
    carriers[leaving] = entering;
  }
}

/** Shares of the three carriers that balance a weight at (x, y): barycentric coordinates. */
function shares(supports: readonly Support[], carriers: readonly number[], x: number, y: number): number[] {
  const a = supports[carriers[0]];
  const b = supports[carriers[1]];
  const c = supports[carriers[2]];
  const whole = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
  return [
    ((b.x - x) * (c.y - y) - (c.x - x) * (b.y - y)) / whole,
    ((c.x - x) * (a.y - y) - (a.x - x) * (c.y - y)) / whole,
    ((a.x - x) * (b.y - y) - (b.x - x) * (a.y - y)) / whole,
  ];
}

interface Plane {
  readonly centre: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

function planeThrough(supports: readonly Support[], carriers: readonly number[]): Plane {
  const a = supports[carriers[0]];
  const b = supports[carriers[1]];
  const c = supports[carriers[2]];
  const whole = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
  const slopeX = ((b.height - a.height) * (c.y - a.y) - (c.height - a.height) * (b.y - a.y)) / whole;
  const slopeY = ((b.x - a.x) * (c.height - a.height) - (c.x - a.x) * (b.height - a.height)) / whole;
  return { centre: a.height - slopeX * a.x - slopeY * a.y, slopeX, slopeY };
}

function above(support: Support, plane: Plane): number {
  return support.height - (plane.centre + plane.slopeX * support.x + plane.slopeY * support.y);
}
