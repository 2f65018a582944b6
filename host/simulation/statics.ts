import { heightAt, planeThrough, type Plane, type Point, type Spot } from './plane';

/** A place that supports a body: from below or from above makes no difference, pushing one way or both does. */
export interface Support extends Spot {
  /** `holds` pushes and pulls; all others (and when left out) only keep the body from coming lower. */
  readonly kind?: 'hangs' | 'stands' | 'holds' | undefined;
}

/** How a rigid body rests on its supports. */
export interface Rest extends Plane {
  /** Per support: whether it is in contact. */
  readonly carrying: readonly boolean[];
  /** Per support: height of the body above it, 0 where it carries. */
  readonly slackMm: readonly number[];
  /** Per support: its share of the weight, below 0 where it pulls down; one possible sharing when more than three touch. */
  readonly share: readonly number[];
}

/** Heights closer than this count as touching; far below anything a shop could see, far above rounding. */
const TOUCHING_MM = 1e-7;
/** How far outside a triangle, in shares of the weight, the centre of gravity still counts as on its edge. */
const ON_EDGE = 1e-9;

/**
 * The plane that a rigid deck takes on its supports (or a rigid chassis on its wheels), by trying every three of them.
 * A wheel holds from below and a chain from above, which is the same thing: the body may be higher than the support says,
 * never lower. A rod holds both ways: the body is there, no higher and no lower. Tried are the triples that hold all rods;
 * of those whose plane breaks no support's rule and that balance the weight without a one-sided support having to pull
 * down, the lowest at the centre of gravity is taken; statics says they all give the same plane, except on ties.
 *
 * @param supports where the supports are
 * @param heightsMm height at which each would hold the body at that place
 * @throws Error when nothing balances: the body would tip over, or its rods contradict each other
 */
export function restOnSupports(
  supports: readonly Support[],
  heightsMm: readonly number[],
  centreOfGravity: Spot,
): Rest {
  const points = supports.map(({ xMm, yMm }, i): Point => ({ xMm, yMm, zMm: heightsMm[i] }));
  const rods = supports.flatMap((support, i) => (support.kind === 'holds' ? [i] : []));
  let best: { plane: Plane; triple: readonly number[]; shares: readonly number[] } | undefined;
  let bestMm = Infinity;
  for (const triple of triples(points.length)) {
    if (rods.some((rod) => !triple.includes(rod)) && triple.some((i) => !rods.includes(i))) continue;
    const [a, b, c] = triple.map((i) => points[i]) as [Point, Point, Point];
    const plane = planeThrough(a, b, c);
    if (plane === undefined) continue;
    const shares = sharesOfWeight(a, b, c, centreOfGravity);
    if (triple.some((i, k) => !rods.includes(i) && shares[k] < -ON_EDGE)) continue;
    if (points.some((p, i) => breaksRule(plane, p, rods.includes(i)))) continue;
    const heightMm = heightAt(plane, centreOfGravity.xMm, centreOfGravity.yMm);
    if (heightMm >= bestMm) continue;
    bestMm = heightMm;
    best = { plane, triple, shares };
  }
  if (best === undefined)
    throw new Error('the centre of gravity lies outside the supports: the body tips over');
  const { plane, triple, shares } = best;
  const slackMm = points.map((p) => Math.max(0, heightAt(plane, p.xMm, p.yMm) - p.zMm));
  return {
    ...plane,
    carrying: slackMm.map((slack) => slack <= TOUCHING_MM),
    slackMm: slackMm.map((slack) => (slack <= TOUCHING_MM ? 0 : slack)),
    share: points
      .map((_, i) => (triple.includes(i) ? shares[triple.indexOf(i)] : 0))
      .map((share, i) => (rods.includes(i) ? share : Math.max(0, share))),
  };
}

function triples(count: number): [number, number, number][] {
  const all: [number, number, number][] = [];
  for (let i = 0; i < count; i++)
    for (let j = i + 1; j < count; j++) for (let k = j + 1; k < count; k++) all.push([i, j, k]);
  return all;
}

function breaksRule(plane: Plane, point: Point, bothWays: boolean): boolean {
  const higherMm = heightAt(plane, point.xMm, point.yMm) - point.zMm;
  return higherMm < -TOUCHING_MM || (bothWays && higherMm > TOUCHING_MM);
}

/** Shares of a weight at `at` carried by three supports: the barycentric coordinates of `at` in their triangle. */
function sharesOfWeight(a: Spot, b: Spot, c: Spot, at: Spot): readonly [number, number, number] {
  const cross = (p: Spot, q: Spot, r: Spot) =>
    (q.xMm - p.xMm) * (r.yMm - p.yMm) - (q.yMm - p.yMm) * (r.xMm - p.xMm);
  const whole = cross(a, b, c);
  return [cross(at, b, c) / whole, cross(a, at, c) / whole, cross(a, b, at) / whole];
}
