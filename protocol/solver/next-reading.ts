/**
 * Which readings next, in the middle of a job: what would settle the result soonest, from what has been read.
 *
 * Readings to come move an estimate m of variance v to one of variance v' that is normal about m with variance v - v'. So
 * the chance that it will then be decided is known now, for going on in the seating in hand and for seating the deck again.
 */
import { between } from './acceptance';
import { ACCEPT_QUANTILE, READING_COSTS, regret, variancesOf } from './design';
import {
  copyOf,
  newClamping,
  newSeating,
  nothingRead,
  take,
  unreadShare,
  varianceAfter,
  type Foresight,
} from './foresight';
import type { TipReading } from './layout';
import { varianceFactor } from './misfit';
import { logarithm, toFloat } from './number';
import { studentQuantile } from './quantiles';
import { inOrder, type SequenceStep } from './reading-order';
import { ACCEPT_JOINT_PROBABILITY } from './result';
import { planeOnTarget, sceneOf, type ExpectedPlane, type Place, type Scene } from './scene';
import type { ReadingTask } from './sequence';
import type { Solution } from './solve-tips';

export interface Outlook {
  readonly what: 'read on' | 'seat again';
  readonly steps: readonly SequenceStep[];
  readonly seconds: number;
  /** Probability that the result is a pass or a fail once they are taken. */
  readonly decides: number;
}

/** What is asked of a solution. */
export type Solved = Pick<Solution, 'measures' | 'pose' | 'chiSquare' | 'degreesOfFreedom'>;

type Asked = Solved & { readonly guards: readonly number[] };

/** Longer than this no bundle of readings is planned ahead: then it is asked again. */
const MOST_AHEAD = 8;
/** So small a chance is as good as none; a floor for its logarithm. */
const NO_CHANCE = 1e-6;

/**
 * The best bundle for each way to go on, the one that promises most for its seconds first; a way in which no reading is
 * possible is left out. `taken` are the readings of the setting, `solved` their solution.
 */
export function nextReadings(task: ReadingTask, taken: readonly TipReading[], solved: Solved): Outlook[] {
  const scene = sceneOf({
    ...task,
    plane: expectedPlane(task, solved),
    seatingPerClamping: task.raisedToClamp === true,
    points: 0,
    taken,
  });
  const known = knowing(scene, taken);
  const asked: Asked = { ...solved, guards: guardsOf(solved) };
  const stay = bundle(task, scene, known, taken, asked, 'read on');
  const again = bundle(task, scene, known, taken, asked, 'seat again');
  const ways: Outlook[] = [];
  for (const way of [stay, again]) if (way.steps.length > 0) ways.push(way);
  if (ways.length === 2 && rate(ways[1]) > rate(ways[0])) return [again, stay];
  return ways;
}

/** What is known after readings that were taken: seatings and clampings as they changed. */
export function knowing(scene: Scene, taken: readonly TipReading[]): Foresight {
  const known = nothingRead(scene);
  let seating = -1;
  const clamped: number[] = [];
  for (let end = 0; end < 2 * scene.layout.spindles.length; end++) clamped.push(-1);
  for (let i = 0; i < taken.length; i++) {
    const reading = taken[i];
    const at = 2 * reading.spindle + (reading.end === 1 ? 0 : 1);
    if (seating >= 0 && reading.seating !== seating && !scene.seatingPerClamping) newSeating(scene, known);
    seating = reading.seating;
    if (clamped[at] >= 0 && clamped[at] !== reading.placement) {
      newClamping(scene, known, reading.spindle, reading.end);
    }
    clamped[at] = reading.placement;
    // A capture without a move in between shows the same error again, less its noise: it counts once.
    if (!repeats(taken, i)) {
      take(scene, known, scene.stationOf[scene.places.length + i], reading.end, reading.refitted);
    }
  }
  return known;
}

function repeats(taken: readonly TipReading[], index: number): boolean {
  const reading = taken[index];
  for (let i = 0; i < index; i++) {
    const other = taken[i];
    if (
      other.placement === reading.placement &&
      other.end === reading.end &&
      other.seating === reading.seating &&
      other.spindle === reading.spindle &&
      other.headingDeg === reading.headingDeg
    ) {
      return true;
    }
  }
  return false;
}

function expectedPlane(task: ReadingTask, { pose }: Pick<Solution, 'pose'>): ExpectedPlane {
  return pose === 'not determined' ? planeOnTarget(task.layout, task.questions) : pose;
}

function rate({ decides, seconds }: Outlook): number {
  return decides / seconds;
}

function bundle(
  task: ReadingTask,
  scene: Scene,
  before: Foresight,
  taken: readonly TipReading[],
  solved: Asked,
  what: Outlook['what'],
): Outlook {
  const costs = task.costs ?? READING_COSTS;
  const known = copyOf(before);
  const last = taken.length === 0 ? undefined : taken[taken.length - 1];
  const held = what === 'read on' ? last : undefined;
  if (what === 'seat again') newSeating(scene, known);
  for (let k = 0; k < scene.layout.spindles.length; k++) {
    for (const end of [1, -1] as const) {
      if (held === undefined || held.spindle !== k || held.end !== end) newClamping(scene, known, k, end);
    }
  }
  const now = variancesOf(scene, before);
  const stations: number[] = [];
  for (let i = 0; i < taken.length; i++) stations.push(scene.stationOf[scene.places.length + i]);
  const chosen: number[] = [];
  let best: number[] = [];
  let bestDecides = toFloat(0);
  let bestRate = toFloat(0);
  const extra = what === 'seat again' ? costs.raiseClampS - costs.clampS : toFloat(0);
  while (chosen.length < MOST_AHEAD) {
    const { place, variances } = mostUseful(task, scene, known, now, solved, stations, chosen, taken, held);
    if (place < 0) break;
    const { spindle, end } = scene.places[place];
    take(scene, known, scene.stationOf[place], end, fittedAsLast(taken, spindle));
    chosen.push(place);
    stations.push(scene.stationOf[place]);
    const decides =
      unreadShare(scene, stations) > 0 ? toFloat(0) : decidedChance(scene, solved, now, variances);
    const promised = decides / (extra + secondsOf(stepsOf(task, chosen, held)));
    if (promised > bestRate) {
      best = copyList(chosen);
      bestDecides = decides;
      bestRate = promised;
    }
  }
  const steps = stepsOf(task, best, held);
  return { what, steps, seconds: extra + secondsOf(steps), decides: bestDecides };
}

/** The place whose reading raises the chance of a decision most for its seconds. */
function mostUseful(
  task: ReadingTask,
  scene: Scene,
  known: Foresight,
  now: readonly number[],
  solved: Asked,
  stations: readonly number[],
  chosen: readonly number[],
  taken: readonly TipReading[],
  held: TipReading | undefined,
): { place: number; variances: number[] } {
  const costs = task.costs ?? READING_COSTS;
  const clamp = task.raisedToClamp === true ? costs.raiseClampS : costs.clampS;
  const worth = (variances: readonly number[], read: readonly number[]) =>
    logarithm(decidedChance(scene, solved, now, variances) + NO_CHANCE) -
    regret(scene, variances, unreadShare(scene, read));
  const before = worth(variancesOf(scene, known), stations);
  let place = -1;
  let found: number[] = [];
  let bestRate = -Infinity;
  for (let candidate = 0; candidate < scene.places.length; candidate++) {
    const { spindle, end } = scene.places[candidate];
    if (!wasRead(scene, chosen, taken, held, candidate)) {
      const variances = varianceAfter(
        scene,
        known,
        scene.stationOf[candidate],
        end,
        fittedAsLast(taken, spindle),
      );
      const read: number[] = copyList(stations);
      read.push(scene.stationOf[candidate]);
      const moved = !isHeld(held, scene.places[candidate]) && !clampedBy(scene, chosen, candidate);
      const gain = worth(variances, read) - before;
      const promised = gain / ((moved ? clamp : costs.turnS) + costs.captureS);
      if (promised > bestRate) {
        bestRate = promised;
        place = candidate;
        found = variances;
      }
    }
  }
  return { place, variances: found };
}

/**
 * Probability that all measures will be decided inside, or one outside, once their variances are `after`; both are as much
 * larger than foreseen as the readings so far have shown them to be.
 */
function decidedChance(
  scene: Scene,
  solved: Asked,
  now: readonly number[],
  after: readonly number[],
): number {
  const factor = varianceFactor(solved);
  let pass = toFloat(1);
  let noFail = toFloat(1);
  for (let m = 0; m < scene.questions.length; m++) {
    const { lowerMm, upperMm, targetMm } = scene.questions[m];
    const measure = solved.measures[m];
    const left = after[m] > 0 ? Math.sqrt(factor * after[m]) : toFloat(0);
    const guard = solved.guards[m] * left;
    if (measure.determined) {
      const moves = now[m] > after[m] ? Math.sqrt(factor * (now[m] - after[m])) : toFloat(0);
      const from = toFloat(lowerMm) - measure.valueMm;
      const until = toFloat(upperMm) - measure.valueMm;
      pass *= between(from + guard, until - guard, moves);
      noFail *= between(from - guard, until + guard, moves);
    } else {
      pass *= between(toFloat(lowerMm) - targetMm + guard, toFloat(upperMm) - targetMm - guard, left);
    }
  }
  return pass + 1 - noFail;
}

/** How many standard uncertainties inside its limits each measure is to be: more where these rest on an assumed width. */
function guardsOf({ measures }: Solved): number[] {
  const guards: number[] = [];
  for (const measure of measures) {
    guards.push(
      !measure.determined || measure.degreesOfFreedom === undefined
        ? ACCEPT_QUANTILE
        : studentQuantile(ACCEPT_JOINT_PROBABILITY, measure.degreesOfFreedom),
    );
  }
  return guards;
}

/** In the clamping that the fixture is in now a heading is read once; so is a place in what is planned. */
function wasRead(
  scene: Scene,
  chosen: readonly number[],
  taken: readonly TipReading[],
  held: TipReading | undefined,
  candidate: number,
): boolean {
  for (const place of chosen) if (place === candidate) return true;
  const place = scene.places[candidate];
  if (held === undefined || !isHeld(held, place)) return false;
  for (const reading of taken) {
    if (
      reading.placement === held.placement &&
      reading.spindle === place.spindle &&
      reading.end === place.end &&
      reading.headingDeg === place.headingDeg
    ) {
      return true;
    }
  }
  return false;
}

function isHeld(held: TipReading | undefined, place: Place): boolean {
  return held !== undefined && held.spindle === place.spindle && held.end === place.end;
}

function clampedBy(scene: Scene, chosen: readonly number[], candidate: number): boolean {
  const { spindle, end } = scene.places[candidate];
  for (const place of chosen) {
    if (scene.places[place].spindle === spindle && scene.places[place].end === end) return true;
  }
  return false;
}

/** How a blade was fitted at its last reading. */
function fittedAsLast(taken: readonly TipReading[], spindle: number): boolean {
  let refitted = false;
  for (const reading of taken) if (reading.spindle === spindle) refitted = reading.refitted;
  return refitted;
}

/** In order, the end that the fixture is on first, where it need not be clamped again. */
function stepsOf(task: ReadingTask, chosen: readonly number[], held: TipReading | undefined): SequenceStep[] {
  const costs = task.costs ?? READING_COSTS;
  const here: SequenceStep[] = [];
  const elsewhere: number[] = [];
  for (const place of chosen) {
    if (isHeld(held, task.places[place])) {
      here.push({
        ...task.places[place],
        reclamp: false,
        seconds: toFloat(costs.turnS) + costs.captureS,
      });
    } else elsewhere.push(place);
  }
  for (const step of inOrder(task, elsewhere, -1)) here.push(step);
  return here;
}

function secondsOf(steps: readonly SequenceStep[]): number {
  let seconds = toFloat(0);
  for (const step of steps) seconds += step.seconds;
  return seconds;
}

function copyList(list: readonly number[]): number[] {
  const copy: number[] = [];
  for (let i = 0; i < list.length; i++) copy.push(list[i]);
  return copy;
}
