/** Where a rigid deck comes to rest on hangers, arms, rods and wheels. */
import type { Point } from './layout';
import { toFloat, zeros } from './number';

/**
 * How a support carries. `hangs` (chain, link, lift arm) and `stands` (a wheel under the deck) both push the deck up and
 * never down: z(p) >= h, whether the deck hangs from above or stands on the floor; below h a chain would have to stretch
 * and a wheel to sink in. `holds` (a rod, a pinned arm) carries both ways: z(p) = h.
 */
export type SupportKind = 'hangs' | 'stands' | 'holds';

export interface Support extends Point {
  /** Left out: hangs. */
  readonly kind?: SupportKind | undefined;
}

/** The resting plane z0 + slopeX x + slopeY y, and how far each support is below it. */
export interface Rest {
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
  /** True where the support touches. Supports in one plane all touch, whether they take load or not. */
  readonly carrying: readonly boolean[];
  readonly slackMm: readonly number[];
}

/** Slack below this is rounding. */
const TOUCHING_MM = 1e-6;

/** One way in which a support can push, seen from the centre of gravity: up (1), or for one that holds also down (-1). */
interface Push {
  readonly x: number;
  readonly y: number;
  readonly height: number;
  readonly way: number;
}

/**
 * The deck rests where its centre of gravity is lowest with every support keeping its rule: minimise z(c) subject to
 * z(p_i) >= h_i, or = h_i where it holds. Solved from the dual side: three pushes that balance the weight carry; while
 * another support's rule is broken by their plane it takes the place of one of them (simplex method with Bland's rule).
 * Undefined when no pushes balance the weight (the deck would tip), or when more than three supports hold and not in one plane.
 */
export function restDeck(
  supports: readonly Support[],
  heightsMm: readonly number[],
  centreOfGravity: Point,
): Rest | undefined {
  const count = supports.length;
  const pushes: Push[] = [];
  let reach = toFloat(1);
  for (let i = 0; i < count; i++) {
    const x = toFloat(supports[i].xMm) - centreOfGravity.xMm;
    const y = toFloat(supports[i].yMm) - centreOfGravity.yMm;
    pushes.push({ x, y, height: toFloat(heightsMm[i]), way: toFloat(1) });
    reach = Math.max(reach, Math.abs(x), Math.abs(y));
  }
  for (let i = 0; i < count; i++) {
    if (supports[i].kind === 'holds') pushes.push({ ...pushes[i], way: toFloat(-1) });
  }
  const carriers = firstThree(pushes, reach);
  if (carriers === undefined || !exchange(pushes, carriers)) return undefined;
  const plane = planeThrough(pushes, carriers);
  const carrying: boolean[] = [];
  const slackMm = zeros(count);
  for (let i = 0; i < count; i++) {
    const slack = 0 - above(pushes[i], plane);
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
 * Three pushes that balance the weight: the same search among them, all at height 0, and three helpers at height -1 that
 * surround them. A helper that still carries at the end shows that there are no such three.
 */
function firstThree(pushes: readonly Push[], reach: number): number[] | undefined {
  const count = pushes.length;
  const all: Push[] = [];
  for (const { x, y, way } of pushes) all.push({ x, y, height: toFloat(0), way });
  const helper = { height: toFloat(-1), way: toFloat(1) };
  all.push({ x: 4 * reach, y: toFloat(0), ...helper });
  all.push({ x: -2 * reach, y: 3 * reach, ...helper });
  all.push({ x: -2 * reach, y: -3 * reach, ...helper });
  const carriers = [count, count + 1, count + 2];
  exchange(all, carriers);
  for (const carrier of carriers) if (carrier >= count) return undefined;
  return carriers;
}

/**
 * Exchanges carriers until their plane breaks no rule. False when a broken rule cannot be mended: supports that hold
 * contradict each other. The cap only guards against rounding at a tie.
 */
function exchange(pushes: readonly Push[], carriers: number[]): boolean {
  for (let pass = 0; pass < 200; pass++) {
    const plane = planeThrough(pushes, carriers);
    let entering = -1;
    for (let i = 0; i < pushes.length && entering < 0; i++) {
      const isCarrier = i === carriers[0] || i === carriers[1] || i === carriers[2];
      const tolerance = 1e-12 * (1 + Math.abs(pushes[i].height) + Math.abs(plane.centre));
      if (!isCarrier && pushes[i].way * above(pushes[i], plane) > tolerance) entering = i;
    }
    if (entering < 0) return true;
    // The load that the newcomer takes grows until one of the old three has none left.
    const loads = shares(pushes, carriers, toFloat(0), toFloat(0));
    const relief = shares(pushes, carriers, pushes[entering].x, pushes[entering].y);
    let leaving = -1;
    for (let k = 0; k < 3; k++) {
      const falls = relief[k] * pushes[entering].way;
      if (falls > 1e-12) {
        const ratio = Math.max(loads[k], 0) / falls;
        const best =
          leaving < 0 ? Infinity : Math.max(loads[leaving], 0) / (relief[leaving] * pushes[entering].way);
        if (ratio < best || (ratio === best && carriers[k] < carriers[leaving])) leaving = k;
      }
    }
    if (leaving < 0) return Math.abs(above(pushes[entering], plane)) <= TOUCHING_MM;
    carriers[leaving] = entering;
  }
  return true;
}

/** How hard the three carriers push, each its own way, to balance a weight at (x, y): barycentric coordinates. */
function shares(pushes: readonly Push[], carriers: readonly number[], x: number, y: number): number[] {
  const a = pushes[carriers[0]];
  const b = pushes[carriers[1]];
  const c = pushes[carriers[2]];
  const whole = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
  return [
    (a.way * ((b.x - x) * (c.y - y) - (c.x - x) * (b.y - y))) / whole,
    (b.way * ((c.x - x) * (a.y - y) - (a.x - x) * (c.y - y))) / whole,
    (c.way * ((a.x - x) * (b.y - y) - (b.x - x) * (a.y - y))) / whole,
  ];
}

interface Plane {
  readonly centre: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

function planeThrough(pushes: readonly Push[], carriers: readonly number[]): Plane {
  const a = pushes[carriers[0]];
  const b = pushes[carriers[1]];
  const c = pushes[carriers[2]];
  const whole = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
  const slopeX = ((b.height - a.height) * (c.y - a.y) - (c.height - a.height) * (b.y - a.y)) / whole;
  const slopeY = ((b.x - a.x) * (c.height - a.height) - (c.x - a.x) * (b.height - a.height)) / whole;
  return { centre: a.height - slopeX * a.x - slopeY * a.y, slopeX, slopeY };
}

/** How far the support sticks out above the plane. */
function above(push: Push, plane: Plane): number {
  return push.height - (plane.centre + plane.slopeX * push.x + plane.slopeY * push.y);
}
