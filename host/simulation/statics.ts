import { heightAt, planeThrough, type Plane, type Point, type Spot } from './plane';

/** How a rigid body rests on one-sided supports. */
export interface Rest extends Plane {
  /** Per support: whether it is in contact. */
  readonly carrying: readonly boolean[];
  /** Per support: height of the body above it, 0 where it carries. */
  readonly slackMm: readonly number[];
  /** Per support: its share of the weight; one possible sharing when more than three are in contact. */
  readonly share: readonly number[];
}

/** Heights closer than this count as touching; far below anything a shop could see, far above rounding. */
const TOUCHING_MM = 1e-7;
/** How far outside a triangle, in shares of the weight, the centre of gravity still counts as on its edge. */
const ON_EDGE = 1e-9;

/**
 * The plane that a rigid deck takes on its hangers (or a rigid chassis on its wheels), by trying every three supports.
 * A support can only hold from below (a chain only from above, which is the same thing): the body may be higher than a
 * support, never lower. Of the triples whose plane is nowhere below a support and whose triangle contains the centre of
 * gravity, the lowest at the centre of gravity is taken; statics says they all give the same plane, except on ties.
 *
 * @param hangers where the supports are
 * @param heightsMm height at which each would hold the body at that place
 * @throws Error when the centre of gravity is outside the polygon of the supports: the body would tip over
 */
export function restOnHangers(
  hangers: readonly Spot[],
  heightsMm: readonly number[],
  centreOfGravity: Spot,
): Rest {
  const points = hangers.map(({ xMm, yMm }, i): Point => ({ xMm, yMm, zMm: heightsMm[i] }));
  let best: { plane: Plane; triple: readonly number[]; shares: readonly number[] } | undefined;
  let bestMm = Infinity;
  for (let i = 0; i < points.length; i++) {
    for (let j = i + 1; j < points.length; j++) {
      for (let k = j + 1; k < points.length; k++) {
        const plane = planeThrough(points[i], points[j], points[k]);
        if (plane === undefined) continue;
        const shares = sharesOfWeight(points[i], points[j], points[k], centreOfGravity);
        if (Math.min(shares[0], shares[1], shares[2]) < -ON_EDGE) continue;
        if (isBelowAny(plane, points)) continue;
        const heightMm = heightAt(plane, centreOfGravity.xMm, centreOfGravity.yMm);
        if (heightMm >= bestMm) continue;
        bestMm = heightMm;
        best = { plane, triple: [i, j, k], shares };
      }
    }
  }
  if (best === undefined)
    throw new Error('the centre of gravity lies outside the supports: the body tips over');
  const { plane, triple, shares } = best;
  const slackMm = points.map((p) => Math.max(0, heightAt(plane, p.xMm, p.yMm) - p.zMm));
  return {
    ...plane,
    carrying: slackMm.map((slack) => slack <= TOUCHING_MM),
    slackMm: slackMm.map((slack) => (slack <= TOUCHING_MM ? 0 : slack)),
    share: points.map((_, i) => (triple.includes(i) ? Math.max(0, shares[triple.indexOf(i)]) : 0)),
  };
}

function isBelowAny(plane: Plane, points: readonly Point[]): boolean {
  for (const p of points) if (heightAt(plane, p.xMm, p.yMm) < p.zMm - TOUCHING_MM) return true;
  return false;
}

/** Shares of a weight at `at` carried by three supports: the barycentric coordinates of `at` in their triangle. */
function sharesOfWeight(a: Spot, b: Spot, c: Spot, at: Spot): readonly [number, number, number] {
  const cross = (p: Spot, q: Spot, r: Spot) =>
    (q.xMm - p.xMm) * (r.yMm - p.yMm) - (q.yMm - p.yMm) * (r.xMm - p.xMm);
  const whole = cross(a, b, c);
  return [cross(at, b, c) / whole, cross(a, at, c) / whole, cross(a, b, at) / whole];
}
