/** Declared measures as linear functionals of the tip model, and whether the readings carry them. */
import type { BendQuestion, MeasureQuestion, TipsQuestion } from './layout';
import { cosSinDeg, toFloat, zeros } from './number';
import { addTip, BEND, SHAFT, spindleAt, stationAt, type Station, type TipModel } from './tip-model';

/**
 * A heading counts as read when what is asked sticks out of what was read by less than this share: about 8 degrees beside
 * a heading that was read. The rest is spindle tilt, whose prior enters the uncertainty.
 */
const READ_TOLERANCE = 0.1;
/** A term with a prior is determined when the readings take away at least half of its variance. */
export const DETERMINED_SHARE = 0.5;

/** Coefficients of a measure over the model's unknowns. */
export function measureCoefficients(model: TipModel, question: MeasureQuestion): number[] {
  const coefficients = zeros(model.size);
  if (question.what === 'tips') {
    for (const term of question.terms) {
      const station = stationAt(model.layout, term.spindle, term.headingDeg);
      addTip(model, coefficients, station, toFloat(term.weight));
    }
  } else {
    const at = spindleAt(question.spindle);
    coefficients[at + BEND] = 2 * toFloat(model.widths.bendMm);
    coefficients[at + SHAFT] = lastFit(model, question) * 2 * toFloat(model.widths.shaftMm);
  }
  return coefficients;
}

/**
 * Whether the readings themselves carry a measure whose posterior variance is given, rather than the priors: nothing that
 * was not measured may be accepted on its prior.
 */
export function carriedByReadings(
  model: TipModel,
  question: MeasureQuestion,
  coefficients: readonly number[],
  variance: number,
): boolean {
  if (question.what === 'tips') return tipsWereRead(model, question);
  let prior = toFloat(0);
  for (let j = 0; j < coefficients.length; j++) prior += coefficients[j] * coefficients[j];
  return variance < DETERMINED_SHARE * prior;
}

/**
 * A measure of tips is carried when the readings would fix it with nothing known of spindle heights and tilts. The height
 * of a tip on a spindle is then c0 + cx cos f + cy sin f with three free numbers a spindle, so what is asked of each
 * spindle must lie in the span of the (1, cos f, sin f) that were read on it.
 */
function tipsWereRead(model: TipModel, question: TipsQuestion): boolean {
  for (let k = 0; k < model.layout.spindles.length; k++) {
    if (shareUnread(model.stations, question, k) > 0) return false;
  }
  return true;
}

/**
 * How far what a measure of tips asks of a spindle sticks out of what was read there, as a share of what is asked; 0 when
 * it is carried or nothing is asked.
 */
export function shareUnread(stations: readonly Station[], question: TipsQuestion, spindle: number): number {
  const asked = zeros(3);
  let size = toFloat(0);
  for (const term of question.terms) {
    if (term.spindle === spindle) {
      const { cos, sin } = cosSinDeg(term.headingDeg);
      asked[0] = asked[0] + term.weight;
      asked[1] = asked[1] + term.weight * cos;
      asked[2] = asked[2] + term.weight * sin;
      size += term.weight * term.weight;
    }
  }
  if (!(size > 0)) return toFloat(0);
  const outside = outsideSpan(directionsRead(stations, spindle), asked) / (2 * size);
  return outside > READ_TOLERANCE * READ_TOLERANCE ? outside : toFloat(0);
}

/** An orthonormal basis of the directions read on a spindle (Gram-Schmidt, nearly parallel ones left out). */
function directionsRead(stations: readonly Station[], spindle: number): number[][] {
  const basis: number[][] = [];
  for (const station of stations) {
    if (station.spindle === spindle && basis.length < 3) {
      const rest = [toFloat(1), station.cos, station.sin];
      takeOff(basis, rest);
      const square = rest[0] * rest[0] + rest[1] * rest[1] + rest[2] * rest[2];
      if (square > READ_TOLERANCE * READ_TOLERANCE) {
        const length = Math.sqrt(square);
        basis.push([rest[0] / length, rest[1] / length, rest[2] / length]);
      }
    }
  }
  return basis;
}

function outsideSpan(basis: readonly (readonly number[])[], vector: readonly number[]): number {
  const rest = [vector[0], vector[1], vector[2]];
  takeOff(basis, rest);
  return rest[0] * rest[0] + rest[1] * rest[1] + rest[2] * rest[2];
}

function takeOff(basis: readonly (readonly number[])[], rest: number[]): void {
  for (const b of basis) {
    const along = b[0] * rest[0] + b[1] * rest[1] + b[2] * rest[2];
    for (let i = 0; i < 3; i++) rest[i] = rest[i] - along * b[i];
  }
}

/** 1 as first fitted, -1 once refitted half a turn round: at the spindle's last reading. */
function lastFit(model: TipModel, question: BendQuestion): number {
  let fit = toFloat(1);
  for (const reading of model.readings) {
    if (reading.spindle === question.spindle) fit = toFloat(reading.refitted ? -1 : 1);
  }
  return fit;
}
