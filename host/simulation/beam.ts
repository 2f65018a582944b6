import type { HeadShape } from './world';

export type Vector = readonly [number, number, number];

/** A fixture in space: where its beam counts from and where its axes point, in bay coordinates. */
export interface Pose {
  readonly originMm: Vector;
  readonly xAxis: Vector;
  readonly yAxis: Vector;
  readonly zAxis: Vector;
}

/** How a fixture sits on an edge. */
export interface Seat {
  /** How far the fixture sits too high along its beam: the distance reads too long by this much. */
  readonly placementMm: number;
  /** Turn about the fixture's x axis, then about its y axis, right-handed. */
  readonly rollRad: number;
  readonly pitchRad: number;
}

/**
 * The pose of a fixture whose edge point touches `edgeMm`, on a blade that runs toward its centre in the direction
 * `inwardRad` (bay heading) with its underside on the slopes given (rise per mm along bay x and y).
 */
export function poseOnEdge(
  edgeMm: Vector,
  inwardRad: number,
  slopeX: number,
  slopeY: number,
  seat: Seat,
  head: HeadShape,
): Pose {
  const cos = Math.cos(inwardRad);
  const sin = Math.sin(inwardRad);
  const alongBlade = scaledToUnit([cos, sin, slopeX * cos + slopeY * sin]);
  const normal = scaledToUnit([-slopeX, -slopeY, 1]);
  const acrossBlade = cross(normal, alongBlade);

  const yAxis = sum(acrossBlade, Math.cos(seat.rollRad), normal, Math.sin(seat.rollRad));
  const rolled = sum(normal, Math.cos(seat.rollRad), acrossBlade, -Math.sin(seat.rollRad));
  const xAxis = sum(alongBlade, Math.cos(seat.pitchRad), rolled, -Math.sin(seat.pitchRad));
  const zAxis = sum(rolled, Math.cos(seat.pitchRad), alongBlade, Math.sin(seat.pitchRad));

  const axes = { xAxis, yAxis, zAxis };
  const toEdge = inSpace(axes, head.edgeMm);
  const beam = inSpace(axes, head.beam);
  return { ...axes, originMm: sum(sum(edgeMm, 1, toEdge, -1), 1, beam, -seat.placementMm) };
}

/** A vector of the fixture's frame in bay coordinates. */
export function inSpace(axes: Omit<Pose, 'originMm'>, v: Vector): Vector {
  const { xAxis: x, yAxis: y, zAxis: z } = axes;
  return [
    v[0] * x[0] + v[1] * y[0] + v[2] * z[0],
    v[0] * x[1] + v[1] * y[1] + v[2] * z[1],
    v[0] * x[2] + v[1] * y[2] + v[2] * z[2],
  ];
}

/** The direction of up in the fixture's frame: what an accelerometer at rest feels, in g. */
export const upIn = (pose: Pose): [number, number, number] => [pose.xAxis[2], pose.yAxis[2], pose.zAxis[2]];

/** A beam flatter than this (cosine against straight down) is not followed. */
const FLATTEST = 0.3;
/** Farther than this is out of reach of any part of this kind. */
const FARTHEST_MM = 400;

/** Where the search along the beam starts: about where a floor is. */
const FIRST_GUESS_MM = 100;

/**
 * Distance from the origin along the beam to a nearly level surface; undefined: nothing in reach. The surface's height is
 * taken where the beam met it last. Every round leaves a share (slope of the surface times tilt of the beam, under 1 %) of
 * the error before, so a last step below 1e-4 mm leaves less than 1e-6 mm.
 */
export function traceBeam(
  originMm: Vector,
  beam: Vector,
  surfaceMm: (xMm: number, yMm: number) => number,
): number | undefined {
  if (-beam[2] < FLATTEST) return undefined;
  let distanceMm = FIRST_GUESS_MM;
  for (let round = 0; round < 12; round++) {
    const beforeMm = distanceMm;
    const heightMm = surfaceMm(originMm[0] + beforeMm * beam[0], originMm[1] + beforeMm * beam[1]);
    distanceMm = (originMm[2] - heightMm) / -beam[2];
    if (Math.abs(distanceMm - beforeMm) < 1e-4) break;
  }
  return distanceMm > 0 && distanceMm < FARTHEST_MM ? distanceMm : undefined;
}

const sum = (a: Vector, factorA: number, b: Vector, factorB: number): Vector => [
  factorA * a[0] + factorB * b[0],
  factorA * a[1] + factorB * b[1],
  factorA * a[2] + factorB * b[2],
];

const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

function scaledToUnit(v: Vector): Vector {
  const length = Math.sqrt(v[0] ** 2 + v[1] ** 2 + v[2] ** 2);
  return [v[0] / length, v[1] / length, v[2] / length];
}
