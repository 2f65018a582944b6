/** A plane over the machine or the bay: height = z0Mm + slopeX * x + slopeY * y, slopes in mm per mm. */
export interface Plane {
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

export interface Spot {
  readonly xMm: number;
  readonly yMm: number;
}

export interface Point extends Spot {
  readonly zMm: number;
}

export const LEVEL: Plane = { z0Mm: 0, slopeX: 0, slopeY: 0 };

export const heightAt = (plane: Plane, xMm: number, yMm: number): number =>
  plane.z0Mm + plane.slopeX * xMm + plane.slopeY * yMm;

/** a + factor * b, height by height. */
export const addPlanes = (a: Plane, b: Plane, factor = 1): Plane => ({
  z0Mm: a.z0Mm + factor * b.z0Mm,
  slopeX: a.slopeX + factor * b.slopeX,
  slopeY: a.slopeY + factor * b.slopeY,
});

/** The plane through three points; undefined when they lie on one line as seen from above. */
export function planeThrough(a: Point, b: Point, c: Point): Plane | undefined {
  const abX = b.xMm - a.xMm;
  const abY = b.yMm - a.yMm;
  const acX = c.xMm - a.xMm;
  const acY = c.yMm - a.yMm;
  const twiceArea = abX * acY - abY * acX;
  if (Math.abs(twiceArea) < 1e-6) return undefined;
  const abZ = b.zMm - a.zMm;
  const acZ = c.zMm - a.zMm;
  const slopeX = (abZ * acY - acZ * abY) / twiceArea;
  const slopeY = (acZ * abX - abZ * acX) / twiceArea;
  return { z0Mm: a.zMm - slopeX * a.xMm - slopeY * a.yMm, slopeX, slopeY };
}

/** The plane of least squares through three or more points that do not lie on one line; each counts by its weight. */
export function fittedPlane(
  points: readonly Point[],
  weights: readonly number[] = points.map(() => 1),
): Plane {
  const whole = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = (of: (point: Point) => number) =>
    points.reduce((sum, point, i) => sum + weights[i] * of(point), 0) / whole;
  const xMm = mean((p) => p.xMm);
  const yMm = mean((p) => p.yMm);
  const zMm = mean((p) => p.zMm);
  const xx = mean((p) => (p.xMm - xMm) ** 2);
  const yy = mean((p) => (p.yMm - yMm) ** 2);
  const xy = mean((p) => (p.xMm - xMm) * (p.yMm - yMm));
  const xz = mean((p) => (p.xMm - xMm) * (p.zMm - zMm));
  const yz = mean((p) => (p.yMm - yMm) * (p.zMm - zMm));
  const determinant = xx * yy - xy * xy;
  if (!(determinant > 0)) throw new Error('a plane needs three points that do not lie on one line');
  const slopeX = (xz * yy - yz * xy) / determinant;
  const slopeY = (yz * xx - xz * xy) / determinant;
  return { z0Mm: zMm - slopeX * xMm - slopeY * yMm, slopeX, slopeY };
}
