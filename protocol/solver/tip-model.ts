/**
 * The tip model: what a reading of a tip is made of, as an observation equation for the engine.
 *
 * H = z + a x + b y + d_k + r (alpha_k cos f + beta_k sin f) + s gamma_k + s w eta_k + seat_q (1, x, y) + offset
 *     + gain (h - h_ref) + twist x y  + (placement, texture, floor, heading, noise)
 *
 * with x and y from the middle of the spindles, s = 1 for end A and -1 for end B, w = -1 once the blade is refitted. The
 * terms before the bracket are unknowns; those inside are correlated between readings and are marginalised into one dense
 * covariance. Unknowns with a proper prior are counted in their own standard deviation, so that every prior is N(0, 1)
 * and a width of 0 simply takes its term out.
 */
import { floorCovariance, type TipAndSpot } from './ground';
import type { Layout, Point, TipReading, Widths } from './layout';
import { cosSinDeg, toFloat, zeros } from './number';
import { surveyedFloor } from './surveyed-floor';
import { tapeCovariance } from './taped';

/** A spindle and heading at which a blade end was read, with its laser spot. */
export interface Station extends TipAndSpot {
  readonly spindle: number;
  readonly headingDeg: number;
  readonly cos: number;
  readonly sin: number;
}

export interface TipModel {
  readonly layout: Layout;
  readonly widths: Widths;
  readonly readings: readonly TipReading[];
  /** Number of unknowns: 3 for the plane, 5 a spindle, 3 a seating, offset, gain, twist. */
  readonly size: number;
  /** The middle of the spindles, where the plane's height is counted inside. */
  readonly middle: Point;
  readonly seatings: readonly number[];
  readonly stations: readonly Station[];
  readonly stationOf: readonly number[];
  /** The readings in their order, with what a survey says of the floor under them: heights above the wheels' ground. */
  readonly observedMm: readonly number[];
  /** Covariance of all that does not depend on the deck's slope, lower triangle by rows. */
  readonly covariance: readonly (readonly number[])[];
}

/** Places of the unknowns in the vector. */
export const PLANE = 3;
export const PER_SPINDLE = 5;
export const HEIGHT = 0;
export const TILT_X = 1;
export const TILT_Y = 2;
export const BEND = 3;
export const SHAFT = 4;

/** Spots nearer than this are one spot: they show the same texture. */
const SAME_SPOT_MM = 0.5;
/** Heights travel as whole micrometres: the standard deviation of that rounding, 1 um / sqrt 12. */
const ROUNDING_MM = 0.000289;
const RADIANS_PER_DEGREE = 0.017453292519943295;

export function spindleAt(spindle: number): number {
  return PLANE + PER_SPINDLE * spindle;
}

/** Place of the fixture's scale among a model's unknowns. */
export function gainAt({ size }: Pick<TipModel, 'size'>): number {
  return size - 2;
}

export function tipModel(layout: Layout, readings: readonly TipReading[], widths: Widths): TipModel {
  const middle = middleOf(layout);
  const seatings: number[] = [];
  const stations: Station[] = [];
  const stationOf: number[] = [];
  for (const reading of readings) {
    if (placeIn(seatings, reading.seating) < 0) seatings.push(reading.seating);
    const station = stationAt(layout, reading.spindle, reading.headingDeg, reading.spot);
    let found = 0;
    while (found < stations.length && !sameStation(stations[found], station)) found += 1;
    if (found === stations.length) stations.push(station);
    stationOf.push(found);
  }
  const floor = floorUnder(layout, stations, widths);
  return {
    layout,
    widths,
    readings,
    size: spindleAt(layout.spindles.length) + 3 * seatings.length + 3,
    middle,
    seatings,
    stations,
    stationOf,
    observedMm: observedOf(readings, stationOf, floor.meanMm),
    covariance: steadyCovariance(readings, widths, stations, stationOf, floor.covariance),
  };
}

/** What is known of F(spot) - G(tip): from the survey, or, without a usable one, that the floor is even to its width. */
export function floorUnder(
  layout: Layout,
  stations: readonly Station[],
  widths: Widths,
): { meanMm?: readonly number[]; covariance: readonly (readonly number[])[] } {
  const { floorMm, floorLengthMm } = widths;
  const { surveyed } = layout;
  const known =
    surveyed === undefined ? undefined : surveyedFloor(layout, surveyed, stations, floorMm, floorLengthMm);
  const floor = known ?? { covariance: unsurveyedFloor(layout, stations, widths) };
  if (layout.uncertaintyMm === undefined) return floor;
  const taped = tapeCovariance(layout, layout.uncertaintyMm, stations, widths);
  for (let s = 0; s < taped.length; s++)
    for (let t = 0; t <= s; t++) taped[s][t] = taped[s][t] + floor.covariance[s][t];
  return { ...floor, covariance: taped };
}

/** A plane floor falls out of F(spot) - G(tip) only where the spot lies under the tip. */
function unsurveyedFloor(layout: Layout, stations: readonly Station[], widths: Widths): number[][] {
  const rows = floorCovariance(layout, stations, widths.floorMm, widths.floorLengthMm);
  const { floorSlopeRad } = widths;
  if (floorSlopeRad === undefined) return rows;
  const variance = toFloat(floorSlopeRad) * floorSlopeRad;
  for (let s = 0; s < stations.length; s++) {
    const x = stations[s].spot.xMm - stations[s].xMm;
    const y = stations[s].spot.yMm - stations[s].yMm;
    for (let t = 0; t <= s; t++) {
      const { spot, xMm, yMm } = stations[t];
      rows[s][t] = rows[s][t] + variance * (x * (spot.xMm - xMm) + y * (spot.yMm - yMm));
    }
  }
  return rows;
}

function observedOf(
  readings: readonly TipReading[],
  stationOf: readonly number[],
  floorMm?: readonly number[],
): number[] {
  const observed: number[] = [];
  for (let i = 0; i < readings.length; i++) {
    const height = toFloat(readings[i].heightMm);
    observed.push(floorMm === undefined ? height : height + floorMm[stationOf[i]]);
  }
  return observed;
}

/** Tip and spot of a blade end; the spot is where the fixture's shape puts it when not given. */
export function stationAt(layout: Layout, spindle: number, headingDeg: number, spot?: Point): Station {
  const { xMm, yMm, tipRadiusMm } = layout.spindles[spindle];
  const { cos, sin } = cosSinDeg(headingDeg);
  const tip = { xMm: xMm + tipRadiusMm * cos, yMm: yMm + tipRadiusMm * sin };
  return {
    spindle,
    headingDeg: toFloat(headingDeg),
    cos,
    sin,
    xMm: tip.xMm,
    yMm: tip.yMm,
    spot: spot ?? spotOf(layout, tip, cos, sin),
  };
}

function spotOf({ spotOffset }: Layout, tip: Point, cos: number, sin: number): Point {
  if (spotOffset === undefined) return tip;
  const { outwardMm, leftMm } = spotOffset;
  return {
    xMm: tip.xMm + outwardMm * cos - leftMm * sin,
    yMm: tip.yMm + outwardMm * sin + leftMm * cos,
  };
}

/** Adds `weight` times the mean height of a blade's two ends at a station to a vector of coefficients. */
export function addTip(model: TipModel, coefficients: number[], station: Station, weight: number): void {
  const { widths } = model;
  const x = station.xMm - model.middle.xMm;
  const y = station.yMm - model.middle.yMm;
  const radius = weight * model.layout.spindles[station.spindle].tipRadiusMm * widths.spindleTiltRad;
  const at = spindleAt(station.spindle);
  add(coefficients, 0, weight);
  add(coefficients, 1, weight * x);
  add(coefficients, 2, weight * y);
  add(coefficients, at + HEIGHT, weight * widths.spindleHeightMm);
  add(coefficients, at + TILT_X, radius * station.cos);
  add(coefficients, at + TILT_Y, radius * station.sin);
  add(coefficients, model.size - 1, (weight * (widths.shellTwistMmPerM2 ?? 0) * x * y) / 1e6);
}

/** The observation equation's columns, one per unknown, each as long as the readings. */
export function designColumns(model: TipModel): number[][] {
  const { widths, readings, size } = model;
  const columns: number[][] = [];
  for (let j = 0; j < size; j++) columns.push(zeros(readings.length));
  for (let i = 0; i < readings.length; i++) {
    const row = zeros(size);
    const reading = readings[i];
    const station = model.stations[model.stationOf[i]];
    addTip(model, row, station, toFloat(1));
    const at = spindleAt(reading.spindle);
    row[at + BEND] = toFloat(reading.end) * widths.bendMm;
    row[at + SHAFT] = toFloat(reading.refitted ? 0 - reading.end : reading.end) * widths.shaftMm;
    const seat = spindleAt(model.layout.spindles.length) + 3 * placeIn(model.seatings, reading.seating);
    row[seat] = toFloat(widths.seatingHeightMm);
    row[seat + 1] = widths.seatingSlopeRad * (station.xMm - model.middle.xMm);
    row[seat + 2] = widths.seatingSlopeRad * (station.yMm - model.middle.yMm);
    if (instrumentOf(reading) === 0) row[size - 3] = toFloat(widths.offsetMm);
    row[gainAt(model)] = widths.gain * (reading.heightMm - toFloat(widths.heightReferenceMm));
    for (let j = 0; j < size; j++) columns[j][i] = row[j]!;
  }
  return columns;
}

/** Slope of each spindle's tip circle, forward and sideways, with variances: what a heading error is multiplied by. */
export interface Slopes {
  readonly x: readonly number[];
  readonly y: readonly number[];
  readonly varianceX: readonly number[];
  readonly varianceY: readonly number[];
}

/**
 * The whole covariance of the readings, lower triangle by rows, for given slopes. An error d of the heading shifts the
 * reading by r (across d - along d^2 / 2), with `across` and `along` the slope of the tip circle square to the heading and
 * along it; the second term and what is not known of the slopes count by their mean squares. Captures without a move in between share the error.
 */
export function readingCovariance(model: TipModel, slopes: Slopes): number[][] {
  const { readings, stationOf } = model;
  const headingVariance: number[] = [];
  const habit: number[] = [];
  for (const station of model.stations) {
    headingVariance.push(headingVarianceAt(model, station, slopes));
    habit.push(headingHabitAt(model, station, slopes));
  }
  const rows: number[][] = [];
  for (let i = 0; i < readings.length; i++) {
    const row: number[] = [];
    for (let j = 0; j <= i; j++) {
      let value = model.covariance[i][j] + habit[stationOf[i]] * habit[stationOf[j]];
      if (stationOf[i] === stationOf[j] && sameSetting(readings[i], readings[j])) {
        value += headingVariance[stationOf[i]];
      }
      row.push(value);
    }
    rows.push(row);
  }
  return rows;
}

/** What an error of the heading adds to the variance of a reading at a station. */
export function headingVarianceAt(
  { layout, widths }: Pick<TipModel, 'layout' | 'widths'>,
  station: Station,
  slopes: Slopes,
): number {
  const headingRad = widths.headingDeg * RADIANS_PER_DEGREE;
  const k = station.spindle;
  const reach = layout.spindles[k].tipRadiusMm * headingRad;
  const across = reach * (slopes.y[k] * station.cos - slopes.x[k] * station.sin);
  const along = reach * headingRad * (slopes.x[k] * station.cos + slopes.y[k] * station.sin);
  const unsure =
    slopes.varianceX[k] * station.sin * station.sin + slopes.varianceY[k] * station.cos * station.cos;
  return across * across + reach * reach * unsure + 0.75 * along * along;
}

/** By how much one standard deviation of the heading that all settings have alike shifts a reading at a station. */
export function headingHabitAt(
  { layout, widths }: Pick<TipModel, 'layout' | 'widths'>,
  station: Station,
  slopes: Slopes,
): number {
  const { headingHabitDeg } = widths;
  if (headingHabitDeg === undefined) return toFloat(0);
  const k = station.spindle;
  const reach = layout.spindles[k].tipRadiusMm * headingHabitDeg * RADIANS_PER_DEGREE;
  return reach * (slopes.y[k] * station.cos - slopes.x[k] * station.sin);
}

/** Variance of a single capture besides clamp, floor and heading: noise and the rounding of the wire. */
export function captureVariance(standardErrorMm: number): number {
  return toFloat(standardErrorMm) * standardErrorMm + ROUNDING_MM * ROUNDING_MM;
}

function steadyCovariance(
  readings: readonly TipReading[],
  widths: Widths,
  stations: readonly Station[],
  stationOf: readonly number[],
  floor: readonly (readonly number[])[],
): number[][] {
  const placement = toFloat(widths.placementMm) * widths.placementMm;
  const texture = toFloat(widths.textureMm) * widths.textureMm;
  const offset = toFloat(widths.offsetMm) * widths.offsetMm;
  const rows: number[][] = [];
  for (let i = 0; i < readings.length; i++) {
    const reading = readings[i];
    const s = stationOf[i];
    const row: number[] = [];
    for (let j = 0; j <= i; j++) {
      const t = stationOf[j];
      let value = s > t ? floor[s][t] : floor[t][s];
      if (reading.placement === readings[j].placement) value += placement;
      if (sameSpot(stations[s].spot, stations[t].spot) && sameTexture(reading, readings[j])) value += texture;
      // The first fixture's zero is an unknown of its own; that of another is marginalised like a clamping's error.
      const other = instrumentOf(reading);
      if (other !== 0 && other === instrumentOf(readings[j])) value += offset;
      row.push(value);
    }
    row[i] = row[i] + captureVariance(reading.standardErrorMm);
    rows.push(row);
  }
  return rows;
}

function instrumentOf({ instrument }: TipReading): number {
  return instrument ?? 0;
}

function sameSetting(a: TipReading, b: TipReading): boolean {
  return a.placement === b.placement && a.end === b.end && a.seating === b.seating;
}

/**
 * A blade that is pointed again, by eye, puts the spot some centimetres elsewhere: the floor is the same there, its texture
 * is not. Only a spot that was given (a mark, a target plate) is met again.
 */
function sameTexture(a: TipReading, b: TipReading): boolean {
  return sameSetting(a, b) || (a.spot !== undefined && b.spot !== undefined);
}

function sameStation(a: Station, b: Station): boolean {
  return a.spindle === b.spindle && a.headingDeg === b.headingDeg && sameSpot(a.spot, b.spot);
}

function sameSpot(a: Point, b: Point): boolean {
  const x = toFloat(a.xMm) - b.xMm;
  const y = toFloat(a.yMm) - b.yMm;
  return x * x + y * y < SAME_SPOT_MM * SAME_SPOT_MM;
}

function middleOf(layout: Layout): Point {
  let xMm = toFloat(0);
  let yMm = toFloat(0);
  const count = layout.spindles.length;
  for (const spindle of layout.spindles) {
    xMm += spindle.xMm / count;
    yMm += spindle.yMm / count;
  }
  return { xMm, yMm };
}

function placeIn(list: readonly number[], value: number): number {
  for (let i = 0; i < list.length; i++) if (list[i] === value) return i;
  return -1;
}

function add(list: number[], index: number, value: number): void {
  list[index] = list[index] + value;
}
