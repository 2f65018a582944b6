/**
 * What readings will be worth before they are taken. Model and widths are linear and Gaussian, so the uncertainty of every
 * measure after a reading depends on where it is taken, not on what it shows; each reading changes the covariance by a
 * matrix of rank one (the Kalman filter's update), and no system has to be solved anew for it. A new seating or clamping
 * forgets its entry and draws a new one.
 */
import { shareUnread } from './measures';
import { toFloat, zeros } from './number';
import type { Scene } from './scene';
import type { Station } from './tip-model';

/** Covariance by rows over the unknowns of a scene, changed in place by `take`, `newSeating` and `newClamping`. */
export type Foresight = number[][];

/** What is known before anything is read. */
export function nothingRead(scene: Scene): Foresight {
  return copyOf(scene.prior);
}

export function copyOf(covariance: readonly (readonly number[])[]): Foresight {
  const copy: number[][] = [];
  for (const row of covariance) {
    const list: number[] = [];
    for (let j = 0; j < row.length; j++) list.push(row[j]);
    copy.push(list);
  }
  return copy;
}

/** Variances of the measures if a reading were taken at a station with a blade end, in the order of the questions. */
export function varianceAfter(
  scene: Scene,
  known: Foresight,
  station: number,
  end: 1 | -1,
  refitted: boolean,
): number[] {
  const { at, weights } = observation(scene, station, end, refitted);
  const first = measureAt(scene, 0);
  const count = scene.questions.length;
  const pull = zeros(count);
  let variance = scene.ownVariance[station];
  for (let a = 0; a < at.length; a++) {
    const row = known[at[a]];
    for (let b = 0; b < at.length; b++) variance += weights[a] * weights[b] * row[at[b]];
    for (let m = 0; m < count; m++) pull[m] = pull[m] + weights[a] * row[first + m];
  }
  const after: number[] = [];
  for (let m = 0; m < count; m++) {
    after.push(known[first + m][first + m] - (pull[m] * pull[m]) / variance);
  }
  return after;
}

/** Takes a reading: the covariance after it. */
export function take(scene: Scene, known: Foresight, station: number, end: 1 | -1, refitted: boolean): void {
  const { at, weights } = observation(scene, station, end, refitted);
  const size = known.length;
  const pull = zeros(size);
  for (let a = 0; a < at.length; a++) {
    const row = known[at[a]];
    const weight = weights[a];
    for (let j = 0; j < size; j++) pull[j] = pull[j] + weight * row[j];
  }
  let variance = scene.ownVariance[station];
  for (let a = 0; a < at.length; a++) variance += weights[a] * pull[at[a]];
  for (let i = 0; i < size; i++) {
    const share = pull[i] / variance;
    if (share !== 0) {
      const row = known[i];
      for (let j = 0; j < size; j++) row[j] = row[j] - share * pull[j];
    }
  }
}

/** The deck is raised and lowered onto its stop again. */
export function newSeating(scene: Scene, known: Foresight): void {
  const from = seatAt(scene, 0, 1);
  const until = clampAt(scene, 0, 1);
  const { seatingHeightMm, seatingSlopeRad } = scene.widths;
  for (let row = from; row < until; row++) {
    redraw(known, row, (row - from) % 3 === 0 ? seatingHeightMm : seatingSlopeRad);
  }
}

/** The fixture is clamped on a blade end anew. */
export function newClamping(scene: Scene, known: Foresight, spindle: number, end: 1 | -1): void {
  redraw(known, clampAt(scene, spindle, end), scene.widths.placementMm);
  if (scene.seatingPerClamping) {
    const seat = seatAt(scene, spindle, end);
    redraw(known, seat, scene.widths.seatingHeightMm);
    redraw(known, seat + 1, scene.widths.seatingSlopeRad);
    redraw(known, seat + 2, scene.widths.seatingSlopeRad);
  }
}

/** Joint covariance of the measures, by rows. */
export function measuresOf(scene: Scene, known: Foresight): number[] {
  const first = measureAt(scene, 0);
  const count = scene.questions.length;
  const joint: number[] = [];
  for (let i = 0; i < count; i++) for (let j = 0; j < count; j++) joint.push(known[first + i][first + j]);
  return joint;
}

/** How far what was read at these stations is from carrying every measure of tips; 0 when all are carried. */
export function unreadShare(scene: Scene, stations: readonly number[]): number {
  let share = toFloat(0);
  for (let k = 0; k < scene.layout.spindles.length; k++) share += unreadOn(scene, k, stations);
  return share;
}

/** The same for what is asked of one spindle. Computed once for each set of its stations. */
export function unreadOn(scene: Scene, spindle: number, stations: readonly number[]): number {
  const read: Station[] = [];
  let key = 0;
  let bit = 1;
  for (let s = 0; s < scene.stations.length; s++) {
    if (scene.stations[s].spindle === spindle) {
      for (let i = 0; i < stations.length; i++) {
        if (stations[i] === s) {
          read.push(scene.stations[s]);
          key += bit;
          break;
        }
      }
      bit *= 2;
    }
  }
  const found = scene.unread[spindle];
  for (let i = 0; i < found.length; i += 2) if (found[i] === key) return found[i + 1];
  let share = toFloat(0);
  for (const question of scene.questions) {
    if (question.what === 'tips') share += shareUnread(read, question, spindle);
  }
  found.push(key, share);
  return share;
}

/** A reading as a weighted sum of the unknowns. */
function observation(
  scene: Scene,
  station: number,
  end: 1 | -1,
  refitted: boolean,
): { at: number[]; weights: number[] } {
  const { spindle, xMm, yMm } = scene.stations[station];
  const bend = bendAt(scene, spindle);
  const seat = seatAt(scene, spindle, end);
  const one = toFloat(1);
  const sign = toFloat(end);
  return {
    at: [station, bend, bend + 1, seat, seat + 1, seat + 2, clampAt(scene, spindle, end)],
    weights: [
      one,
      sign,
      refitted ? 0 - sign : sign,
      one,
      xMm - scene.middle.xMm,
      yMm - scene.middle.yMm,
      one,
    ],
  };
}

function bendAt(scene: Scene, spindle: number): number {
  return scene.stations.length + 2 * spindle;
}

function seatAt(scene: Scene, spindle: number, end: 1 | -1): number {
  const first = bendAt(scene, scene.layout.spindles.length);
  return scene.seatingPerClamping ? first + 3 * bladeEnd(spindle, end) : first;
}

function clampAt(scene: Scene, spindle: number, end: 1 | -1): number {
  const ends = 2 * scene.layout.spindles.length;
  const first = bendAt(scene, scene.layout.spindles.length) + (scene.seatingPerClamping ? 3 * ends : 3);
  return first + bladeEnd(spindle, end);
}

function measureAt(scene: Scene, measure: number): number {
  return clampAt(scene, scene.layout.spindles.length, 1) + measure;
}

function bladeEnd(spindle: number, end: 1 | -1): number {
  return 2 * spindle + (end === 1 ? 0 : 1);
}

function redraw(known: Foresight, at: number, deviation: number): void {
  const zero = toFloat(0);
  const row = known[at];
  for (let j = 0; j < row.length; j++) {
    row[j] = zero;
    known[j][at] = zero;
  }
  row[at] = toFloat(deviation) * deviation;
}
