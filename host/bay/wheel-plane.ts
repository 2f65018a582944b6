/** Slope and twist of the spots that the wheels stand on, and the shims that null the twist. */

interface Place {
  readonly xMm: number;
  readonly yMm: number;
}

export interface WheelSpot extends Place {
  readonly name: string;
  readonly heightMm: number;
}

export interface WheelPlane {
  /** Rise along the bay and to the left, mm in a metre. */
  readonly slopeX: number;
  readonly slopeY: number;
  /** How far the highest diagonal's spots lie off the other two's plane: the height of one spot above the plane of the other three. */
  readonly twistMm: number;
  /** The thinnest shim under one wheel that nulls the twist, at either end of the low diagonal. */
  readonly shims: readonly { readonly spot: string; readonly heightMm: number }[];
}

/** Undefined for fewer than three spots, or spots on one line. More than four are not taken: which four are meant is the bay's to say. */
export function wheelPlane(spots: readonly WheelSpot[]): WheelPlane | undefined {
  if (spots.length < 3 || spots.length > 4) return undefined;
  const [a, b, c] = spots;
  if (a === undefined || b === undefined || c === undefined) return undefined;
  if (spots.length === 3) {
    const slopes = slopesThrough(a, b, c);
    return slopes === undefined ? undefined : { ...slopes, twistMm: 0, shims: [] };
  }
  const weights = twistWeights(spots);
  if (weights === undefined) return undefined;
  const twist = weights.reduce((sum, v, i) => sum + v * (spots[i]?.heightMm ?? 0), 0);
  return { ...leastSquares(spots), ...shimsFor(spots, weights, twist) };
}

/**
 * The one combination of four heights that no plane has (sum n = sum n x = sum n y = 0), largest weight 1. Undefined
 * unless there are four places, no three of them on one line.
 */
export function twistWeights(places: readonly Place[]): number[] | undefined {
  if (places.length !== 4) return undefined;
  const n = places.map((_, i) => {
    const [p, q, r] = places.filter((__, j) => j !== i);
    return (i % 2 === 0 ? 1 : -1) * twiceArea(p, q, r);
  });
  const largest = Math.max(...n.map(Math.abs));
  if (!(largest > 0) || n.some((v) => Math.abs(v) < 1e-6 * largest)) return undefined;
  return n.map((v) => v / largest);
}

/** The twist n.h as a height, and what nulls it: a spot's height above the plane of the other three is n.h / n_i. */
export function shimsFor(
  places: readonly { readonly name: string }[],
  weights: readonly number[],
  twist: number,
): Pick<WheelPlane, 'twistMm' | 'shims'> {
  const offs = weights.map((v) => twist / v);
  const shims = places
    .flatMap((s, i) => ((offs[i] ?? 0) < 0 ? [{ spot: s.name, heightMm: -(offs[i] ?? 0) }] : []))
    .sort((p, q) => p.heightMm - q.heightMm);
  return { twistMm: Math.max(...offs), shims };
}

function twiceArea(p?: Place, q?: Place, r?: Place): number {
  if (p === undefined || q === undefined || r === undefined) return 0;
  return (q.xMm - p.xMm) * (r.yMm - p.yMm) - (r.xMm - p.xMm) * (q.yMm - p.yMm);
}

function slopesThrough(a: WheelSpot, b: WheelSpot, c: WheelSpot) {
  const area = twiceArea(a, b, c);
  if (Math.abs(area) < 1) return undefined;
  const [up, right] = [b.heightMm - a.heightMm, c.heightMm - a.heightMm];
  return {
    slopeX: (1000 * (up * (c.yMm - a.yMm) - right * (b.yMm - a.yMm))) / area,
    slopeY: (1000 * (right * (b.xMm - a.xMm) - up * (c.xMm - a.xMm))) / area,
  };
}

function leastSquares(spots: readonly WheelSpot[]) {
  const mean = (of: (s: WheelSpot) => number) => spots.reduce((sum, s) => sum + of(s), 0) / spots.length;
  const [x, y, h] = [mean((s) => s.xMm), mean((s) => s.yMm), mean((s) => s.heightMm)];
  const xx = mean((s) => (s.xMm - x) ** 2);
  const xy = mean((s) => (s.xMm - x) * (s.yMm - y));
  const yy = mean((s) => (s.yMm - y) ** 2);
  const xh = mean((s) => (s.xMm - x) * (s.heightMm - h));
  const yh = mean((s) => (s.yMm - y) * (s.heightMm - h));
  const whole = xx * yy - xy * xy;
  return { slopeX: (1000 * (yy * xh - xy * yh)) / whole, slopeY: (1000 * (xx * yh - xy * xh)) / whole };
}
