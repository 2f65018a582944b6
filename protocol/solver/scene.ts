/**
 * A machine before its readings: where they can be taken, what each is made of, and what is known with nothing read.
 *
 * The unknowns are the height at every place of a blade that may be read (floor, offset, gain and heading habit in it), bend and shaft of
 * every spindle, the seating in hand, the clamping in hand of every blade end, and the measures, in this order.
 */
import { evenNormals } from './acceptance';
import { absorb, mean, priorInformation, solve } from './engine';
import type { Layout, MeasureQuestion, Point, TipReading, Widths } from './layout';
import { measureCoefficients } from './measures';
import { toFloat, zeros } from './number';
import {
  addTip,
  BEND,
  captureVariance,
  headingHabitAt,
  headingVarianceAt,
  PLANE,
  SHAFT,
  spindleAt,
  stationAt,
  tipModel,
  type Slopes,
  type Station,
  type TipModel,
} from './tip-model';

/** A blade end at a heading: where a reading can be taken. */
export interface Place {
  readonly spindle: number;
  readonly headingDeg: number;
  readonly end: 1 | -1;
}

/** The deck plane that is expected: predicts heights, and slopes for the heading error. */
export interface ExpectedPlane {
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/** What stays the same for one machine, one bay and one set of places. */
export interface Scene {
  readonly layout: Layout;
  readonly widths: Widths;
  readonly questions: readonly MeasureQuestion[];
  readonly places: readonly Place[];
  /** Of each place and of each reading that was taken before. */
  readonly stationOf: readonly number[];
  readonly stations: readonly Station[];
  /** What every capture adds by itself at a station: texture, heading, noise. */
  readonly ownVariance: readonly number[];
  readonly middle: Point;
  /** Every clamping is a seating of its own, because the deck has to be raised for it. */
  readonly seatingPerClamping: boolean;
  readonly prior: readonly (readonly number[])[];
  /** Points at which the chance of acceptance is counted. */
  readonly points: readonly (readonly number[])[];
  /** Of each spindle: sets of stations and how much is unread with them, found so far. */
  readonly unread: readonly number[][];
}

/** Standard deviations that stand for knowing nothing of height and slope: their square is 1e-8 of what is found. */
const VAGUE_MM = 1000;
const VAGUE_SLOPE = 1;
/** Points of the even sequence that a chance is counted at while searching. */
const POINTS = 512;
/** Weak knowledge of a deck where the targets do not fix its plane: it is about level and below half a metre. */
const LIKELY_HEIGHT_MM = 500;
const LIKELY_SLOPE = 0.02;

/**
 * The plane on which level, rake and cut height are on target, as nearly as one plane can have them; directions in which
 * the targets say nothing are taken as level.
 */
export function planeOnTarget(layout: Layout, questions: readonly MeasureQuestion[]): ExpectedPlane {
  const columns: number[][] = [[], [], []];
  const observed: number[] = [];
  for (const question of questions) {
    if (question.what === 'tips') {
      const row = zeros(3);
      for (const term of question.terms) {
        const { xMm, yMm } = stationAt(layout, term.spindle, term.headingDeg);
        row[0] = row[0] + term.weight;
        row[1] = row[1] + term.weight * xMm;
        row[2] = row[2] + term.weight * yMm;
      }
      // A hundredth of a millimetre: the targets outweigh the weak prior by far.
      for (let j = 0; j < 3; j++) columns[j].push(row[j] / 0.01);
      observed.push(toFloat(question.targetMm) / 0.01);
    }
  }
  const weak = priorInformation(zeros(3), [LIKELY_HEIGHT_MM, LIKELY_SLOPE, LIKELY_SLOPE]);
  const found = mean(solve(absorb(weak, { columns, observed, logScale: toFloat(0) })));
  return found === undefined
    ? { z0Mm: toFloat(0), slopeX: toFloat(0), slopeY: toFloat(0) }
    : { z0Mm: found[0], slopeX: found[1], slopeY: found[2] };
}

export function heightOnPlane(layout: Layout, plane: ExpectedPlane, place: Omit<Place, 'end'>): number {
  const { xMm, yMm } = stationAt(layout, place.spindle, place.headingDeg);
  return toFloat(plane.z0Mm) + plane.slopeX * xMm + plane.slopeY * yMm;
}

/** Readings of these places as they will be taken when the deck lies on the plane: for the solver to be asked beforehand. */
export function pretend(
  layout: Layout,
  plane: ExpectedPlane,
  places: readonly Place[],
  standardErrorMm: number,
  clampings: readonly number[],
  seatings: readonly number[],
): TipReading[] {
  const readings: TipReading[] = [];
  for (let i = 0; i < places.length; i++) {
    readings.push({
      spindle: places[i].spindle,
      headingDeg: places[i].headingDeg,
      end: places[i].end,
      refitted: false,
      seating: seatings[i],
      placement: clampings[i],
      heightMm: heightOnPlane(layout, plane, places[i]),
      standardErrorMm,
    });
  }
  return readings;
}

export interface SceneOptions {
  readonly layout: Layout;
  readonly widths: Widths;
  readonly questions: readonly MeasureQuestion[];
  readonly places: readonly Place[];
  readonly plane: ExpectedPlane;
  readonly standardErrorMm: number;
  readonly seatingPerClamping: boolean;
  /** Points that a chance is counted at; left out: enough for a search. None are needed where none is counted. */
  readonly points?: number;
  /** Readings taken already, in their order. */
  readonly taken: readonly TipReading[];
}

export function sceneOf(options: SceneOptions): Scene {
  const { layout, widths, questions, places, plane, taken } = options;
  const ones: number[] = [];
  for (let i = 0; i < places.length; i++) ones.push(i);
  const ahead = pretend(layout, plane, places, options.standardErrorMm, ones, ones);
  const readings: TipReading[] = [];
  for (const reading of ahead) readings.push(reading);
  for (const reading of taken) readings.push(reading);
  const all = tipModel(layout, readings, widths);
  // One reading for each station, each with its own clamping: then all that two of them share is the floor.
  const alone: TipReading[] = [];
  for (let s = 0; s < all.stations.length; s++) {
    let i = 0;
    while (all.stationOf[i] !== s) i += 1;
    const { spindle, headingDeg } = all.stations[s];
    alone.push({
      ...readings[i],
      placement: s,
      seating: s,
      standardErrorMm: toFloat(0),
      heightMm: heightOnPlane(layout, plane, { spindle, headingDeg }),
    });
  }
  const model = tipModel(layout, alone, widths);
  const slopes = expectedSlopes(layout, widths, plane);
  const texture = toFloat(widths.textureMm) * widths.textureMm;
  const ownVariance: number[] = [];
  for (const station of all.stations) {
    ownVariance.push(
      texture + headingVarianceAt(model, station, slopes) + captureVariance(options.standardErrorMm),
    );
  }
  const unread: number[][] = [];
  for (let k = 0; k < layout.spindles.length; k++) unread.push([]);
  return {
    layout,
    widths,
    questions,
    places,
    stationOf: all.stationOf,
    stations: all.stations,
    ownVariance,
    middle: all.middle,
    seatingPerClamping: options.seatingPerClamping,
    prior: priorOf(model, options, slopes),
    points: evenNormals(questions.length, options.points ?? POINTS),
    unread,
  };
}

function expectedSlopes(layout: Layout, widths: Widths, plane: ExpectedPlane): Slopes {
  const x: number[] = [];
  const y: number[] = [];
  const variance: number[] = [];
  for (let k = 0; k < layout.spindles.length; k++) {
    x.push(toFloat(plane.slopeX));
    y.push(toFloat(plane.slopeY));
    variance.push(toFloat(widths.spindleTiltRad) * widths.spindleTiltRad);
  }
  return { x, y, varianceX: variance, varianceY: variance };
}

function priorOf(model: TipModel, options: SceneOptions, slopes: Slopes): number[][] {
  const { widths, readings } = model;
  const spindles = model.layout.spindles.length;
  const rows: number[][] = [];
  for (let s = 0; s < readings.length; s++) {
    const row = zeros(model.size);
    addTip(model, row, model.stations[s], toFloat(1));
    row[model.size - 3] = toFloat(widths.offsetMm);
    row[model.size - 2] = widths.gain * (readings[s].heightMm - toFloat(widths.heightReferenceMm));
    rows.push(row);
  }
  for (let k = 0; k < spindles; k++) {
    const bend = zeros(model.size);
    bend[spindleAt(k) + BEND] = toFloat(widths.bendMm);
    const shaft = zeros(model.size);
    shaft[spindleAt(k) + SHAFT] = toFloat(widths.shaftMm);
    rows.push(bend, shaft);
  }
  const drawn: number[] = [];
  const ends = 2 * spindles;
  for (let seat = 0; seat < (options.seatingPerClamping ? ends : 1); seat++) {
    drawn.push(widths.seatingHeightMm, widths.seatingSlopeRad, widths.seatingSlopeRad);
  }
  for (let end = 0; end < ends; end++) drawn.push(widths.placementMm);
  const firstDrawn = rows.length;
  for (let i = 0; i < drawn.length; i++) rows.push(zeros(model.size));
  // How a blade was fitted last decides the sign of the shaft in its bend: the readings taken say it.
  const asFitted = options.taken.length > 0 ? { ...model, readings: options.taken } : model;
  for (const question of options.questions) rows.push(measureCoefficients(asFitted, question));
  const prior = products(rows);
  const habit: number[] = [];
  for (const station of model.stations) habit.push(headingHabitAt(model, station, slopes));
  for (let s = 0; s < readings.length; s++) {
    for (let t = 0; t <= s; t++) {
      let shared = model.covariance[s][t] + habit[s] * habit[t];
      if (s === t) shared -= ownPart(widths);
      prior[s][t] = prior[s][t] + shared;
      if (s !== t) prior[t][s] = prior[t][s] + shared;
    }
  }
  for (let i = 0; i < drawn.length; i++) {
    prior[firstDrawn + i][firstDrawn + i] = toFloat(drawn[i]) * drawn[i];
  }
  return prior;
}

/** What a reading without noise has on the diagonal besides the floor: clamping, texture, rounding. */
function ownPart(widths: Widths): number {
  return (
    toFloat(widths.placementMm) * widths.placementMm +
    toFloat(widths.textureMm) * widths.textureMm +
    captureVariance(toFloat(0))
  );
}

/** C C' for rows over unknowns of variance 1, the plane's of as good as infinite variance. */
function products(rows: readonly (readonly number[])[]): number[][] {
  const scaled: number[][] = [];
  for (const row of rows) {
    const copy: number[] = [];
    for (let j = 0; j < row.length; j++) {
      copy.push(j === 0 ? row[j] * VAGUE_MM : j < PLANE ? row[j] * VAGUE_SLOPE : toFloat(row[j]));
    }
    scaled.push(copy);
  }
  const result: number[][] = [];
  for (const a of scaled) {
    const row: number[] = [];
    for (const b of scaled) {
      let sum = toFloat(0);
      for (let j = 0; j < a.length; j++) sum += a[j] * b[j];
      row.push(sum);
    }
    result.push(row);
  }
  return result;
}
