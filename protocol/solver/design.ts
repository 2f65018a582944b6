/**
 * A set of readings to be taken, judged before it is taken: what it costs and how surely it would decide a machine that is
 * as it should be. The order of the readings does not change what they say, so a design is a list of places.
 */
import { acceptedShareAt, between } from './acceptance';
import {
  measuresOf,
  nothingRead,
  take,
  unreadOn,
  unreadShare,
  varianceAfter,
  type Foresight,
} from './foresight';
import type { MeasureQuestion } from './layout';
import { DETERMINED_SHARE } from './measures';
import { logarithm, toFloat } from './number';
import type { Scene } from './scene';

/** Seconds that the parts of a reading take: defaults to be replaced by a shop's own. */
export interface ReadingCosts {
  /** The fixture goes to another blade end. */
  readonly clampS: number;
  /** The blade is turned to another heading with the fixture on it. */
  readonly turnS: number;
  /** Where the skirt is too low: deck up, fixture on, deck down. Also a new seating anywhere, its first clamping included. */
  readonly raiseClampS: number;
  readonly captureS: number;
}

/** Assumed; a shop that times itself gives its own. */
export const READING_COSTS: ReadingCosts = { clampS: 25, turnS: 6, raiseClampS: 45, captureS: 3 };

/** A sequence decides when it would accept a machine that is exactly on target with this probability. */
export const DECIDING_PROBABILITY = 0.9;

/** A measure inside its limits by this many u, alone, is accepted: the 98 % point of the normal distribution. */
export const ACCEPT_QUANTILE = 2.0537489106318225;

/** Limits so many u away accept all but 1e-9 of the estimates. */
const SURE = 8;
/** Below this chance the regret goes on with the logarithm of the uncertainty, so that it still shows the way. */
const LEAST_CHANCE = 0.2;
const LEAST_MARGIN = 2.307;
const PULL = 9;
/** Regret of a measure of which nothing is read. */
const UNREAD = 20;

/** Knowledge after the readings of a design, each blade end clamped once. */
export function after(scene: Scene, design: readonly number[]): Foresight {
  const known = nothingRead(scene);
  for (const place of design) takePlace(scene, known, place);
  return known;
}

export function takePlace(scene: Scene, known: Foresight, place: number): void {
  take(scene, known, scene.stationOf[place], scene.places[place].end, false);
}

/**
 * Minus the logarithm of about the probability that a machine on target is accepted, measures taken one by one: falls with
 * every reading that helps, also while nothing is decided yet.
 */
export function regret(scene: Scene, variances: readonly number[], unread: number): number {
  let sum = UNREAD * unread;
  const first = scene.prior.length - scene.questions.length;
  for (let m = 0; m < scene.questions.length; m++) {
    const question = scene.questions[m];
    const deviation = variances[m] > 0 ? Math.sqrt(variances[m]) : toFloat(0);
    const below = question.targetMm - question.lowerMm;
    const above = question.upperMm - question.targetMm;
    const chance = chanceAlone(question, deviation);
    if (chance > LEAST_CHANCE) sum -= logarithm(chance);
    else {
      const margin = (below < above ? below : above) / deviation;
      const short = margin > 0 ? logarithm(LEAST_MARGIN / margin) : toFloat(PULL);
      sum += (short > 0 ? PULL * short : toFloat(0)) - logarithm(LEAST_CHANCE);
    }
    if (question.what === 'bend') {
      const share = variances[m] / scene.prior[first + m][first + m];
      if (!(share < DETERMINED_SHARE)) sum += UNREAD * share;
    }
  }
  return sum;
}

/** Probability that a measure on target is accepted by itself. */
function chanceAlone(question: MeasureQuestion, deviation: number): number {
  const below = question.targetMm - question.lowerMm;
  const above = question.upperMm - question.targetMm;
  const sure = SURE * deviation;
  if (below > sure && above > sure) return toFloat(1);
  const guard = ACCEPT_QUANTILE * deviation;
  return between(guard - below, above - guard, deviation);
}

export function variancesOf(scene: Scene, known: Foresight): number[] {
  const first = known.length - scene.questions.length;
  const list: number[] = [];
  for (let m = 0; m < scene.questions.length; m++) list.push(known[first + m][first + m]);
  return list;
}

export function stationsOf(scene: Scene, design: readonly number[]): number[] {
  const list: number[] = [];
  for (const place of design) list.push(scene.stationOf[place]);
  return list;
}

export function designRegret(scene: Scene, design: readonly number[]): number {
  const known = after(scene, design);
  return regret(scene, variancesOf(scene, known), unreadShare(scene, stationsOf(scene, design)));
}

/** Regret of a design with one place more, for every place that is not in it; Infinity for those that are. */
export function regretsWithOneMore(scene: Scene, known: Foresight, design: readonly number[]): number[] {
  const stations = stationsOf(scene, design);
  const open = unreadShare(scene, stations);
  const list: number[] = [];
  for (let place = 0; place < scene.places.length; place++) {
    if (holds(design, place)) list.push(Infinity);
    else {
      const station = scene.stationOf[place];
      const { spindle, end } = scene.places[place];
      let unread = open;
      if (open > 0) {
        unread -= unreadOn(scene, spindle, stations);
        stations.push(station);
        unread += unreadOn(scene, spindle, stations);
        stations.pop();
      }
      list.push(regret(scene, varianceAfter(scene, known, station, end, false), unread));
    }
  }
  return list;
}

/** Probability that the machine on target is accepted after these readings; 0 while a measure is not read. */
export function chanceOf(scene: Scene, known: Foresight, design: readonly number[]): number {
  if (unreadShare(scene, stationsOf(scene, design)) > 0) return toFloat(0);
  const first = known.length - scene.questions.length;
  for (let m = 0; m < scene.questions.length; m++) {
    const share = known[first + m][first + m] / scene.prior[first + m][first + m];
    if (scene.questions[m].what === 'bend' && !(share < DETERMINED_SHARE)) return toFloat(0);
  }
  return acceptedShareAt(scene.points, scene.questions, measuresOf(scene, known));
}

export function holds(list: readonly number[], value: number): boolean {
  for (const entry of list) if (entry === value) return true;
  return false;
}

export function without(list: readonly number[], index: number): number[] {
  const rest: number[] = [];
  for (let i = 0; i < list.length; i++) if (i !== index) rest.push(list[i]);
  return rest;
}

/** Whether a design clamps the fixture on the same blade end as a place. */
export function clamps(scene: Scene, design: readonly number[], place: number): boolean {
  const { spindle, end } = scene.places[place];
  for (const other of design) {
    if (scene.places[other].spindle === spindle && scene.places[other].end === end) return true;
  }
  return false;
}
