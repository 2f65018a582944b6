/**
 * Which readings to take: the cheapest sequence that is expected to decide every limited measure, the full one for a
 * diagnosis, and the order in which either is taken.
 *
 * The search begins with readings that lower the regret most for their seconds, drops what is not needed, and exchanges
 * places for better or cheaper ones until nothing helps. It starts over with clampings made to seem dearer and cheaper.
 */
import { acceptedShare } from './acceptance';
import {
  after,
  chanceOf,
  clamps,
  DECIDING_PROBABILITY,
  designRegret,
  holds,
  READING_COSTS,
  regretsWithOneMore,
  takePlace,
  without,
  type ReadingCosts,
} from './design';
import { planeOnTarget, pretend, sceneOf, type Place, type Scene } from './scene';
import type { Layout, MeasureQuestion, Widths } from './layout';
import { logarithm, toFloat } from './number';
import { inOrder, secondsInOrder, type Crank, type SequenceStep } from './reading-order';
import { solveTips } from './solve-tips';

/** A machine as far as reading its tips goes. */
export interface ReadingTask {
  readonly layout: Layout;
  readonly widths: Widths;
  readonly questions: readonly MeasureQuestion[];
  /** Blade ends and headings that the fixture can reach. */
  readonly places: readonly Place[];
  /** Standard error of one capture. */
  readonly standardErrorMm: number;
  readonly costs?: ReadingCosts;
  /** The skirt is too low for the fixture: the deck is raised for every clamping, which seats it anew. */
  readonly raisedToClamp?: boolean;
  /** What each spindle's blade turns with; left out: each by itself. */
  readonly cranks?: readonly Crank[];
}

export interface ReadingSequence {
  readonly steps: readonly SequenceStep[];
  readonly seconds: number;
  /** Probability that a machine exactly on target is accepted, and whether that is enough. */
  readonly acceptsCentred: number;
  readonly decides: boolean;
  /** Standard uncertainty expected of each question; undefined is written -1: not determined. */
  readonly expectedMm: readonly number[];
}

/** Chance that the search's own count may be off the final one. */
const SLACK = 0.01;
/** Regrets above minus the logarithm of what is wanted by more than this are not worth counting exactly. */
const UNSURE = 0.25;
const MOST_ROUNDS = 12;
const BIASES = [1, 2, 0.5, 0.25];
/** What a sequence that cannot decide must reach of the chance that all places together give. */
const WORTHWHILE = 0.9;
const FINAL_POINTS = 1024;

/** The cheapest sequence found that is expected to decide; when none can, one that is nearly as good as all places together. */
export function planSequence(task: ReadingTask): ReadingSequence {
  const scene = sceneOf({
    ...task,
    plane: planeOnTarget(task.layout, task.questions),
    seatingPerClamping: task.raisedToClamp === true,
    taken: [],
  });
  const all = everyPlace(task);
  const most = chanceOf(scene, after(scene, all), all);
  if (most < DECIDING_PROBABILITY) {
    const nearly = designRegret(scene, all) - logarithm(WORTHWHILE);
    return sequenceOf(task, scene, cheapest(task, scene, { regret: nearly, chance: toFloat(0) }));
  }
  let sequence = sequenceOf(task, scene, cheapest(task, scene, deciding(DECIDING_PROBABILITY)));
  // The search's count of the chance is coarser than the final one: when it was too kind, more is asked for.
  for (let more = SLACK; !sequence.decides && more < 4 * SLACK; more += SLACK) {
    if (DECIDING_PROBABILITY + more > most) break;
    sequence = sequenceOf(task, scene, cheapest(task, scene, deciding(DECIDING_PROBABILITY + more)));
  }
  return sequence;
}

/** When a design is good enough: by its regret, which is quick to find, and then by the chance of acceptance. */
interface Goal {
  readonly regret: number;
  readonly chance: number;
}

function deciding(chance: number): Goal {
  return { regret: UNSURE - logarithm(chance), chance };
}

/** Every end at every heading: tells faults apart. */
export function fullSequence(task: ReadingTask): ReadingSequence {
  return sequenceOf(task, undefined, everyPlace(task));
}

/** What a set of places is expected to give, asked of the solver itself. */
export function sequenceOf(
  task: ReadingTask,
  scene: Scene | undefined,
  design: readonly number[],
): ReadingSequence {
  const steps = inOrder(task, design, scene === undefined ? -1 : cheapToGoOn(scene, design));
  let seconds = toFloat(0);
  for (const step of steps) seconds += step.seconds;
  const { acceptsCentred, expectedMm } = expectation(task, steps);
  return { steps, seconds, acceptsCentred, decides: acceptsCentred >= DECIDING_PROBABILITY, expectedMm };
}

/** Chance of acceptance and uncertainties after steps that have not been taken yet, from the solver. */
export function expectation(
  task: ReadingTask,
  steps: readonly SequenceStep[],
): { acceptsCentred: number; expectedMm: number[] } {
  const clampings: number[] = [];
  const seatings: number[] = [];
  let clamping = 0;
  for (const step of steps) {
    if (step.reclamp) clamping += 1;
    clampings.push(clamping);
    seatings.push(task.raisedToClamp === true ? clamping : 1);
  }
  const plane = planeOnTarget(task.layout, task.questions);
  const readings = pretend(task.layout, plane, steps, task.standardErrorMm, clampings, seatings);
  const solution = solveTips(task.layout, readings, task.widths, task.questions);
  const expectedMm: number[] = [];
  let determined = true;
  for (const measure of solution.measures) {
    expectedMm.push(measure.determined ? measure.standardUncertaintyMm : toFloat(-1));
    if (!measure.determined) determined = false;
  }
  const acceptsCentred = determined
    ? acceptedShare(task.questions, solution.measureCovariance, FINAL_POINTS)
    : toFloat(0);
  return { acceptsCentred, expectedMm };
}

/** Of the clampings of a design the one where another turn of the blade would still help most; -1 when none would. */
function cheapToGoOn(scene: Scene, design: readonly number[]): number {
  const regrets = regretsWithOneMore(scene, after(scene, design), design);
  let best = -1;
  for (let place = 0; place < regrets.length; place++) {
    if (regrets[place] < Infinity && clamps(scene, design, place)) {
      if (best < 0 || regrets[place] < regrets[best]) best = place;
    }
  }
  return best;
}

function everyPlace(task: ReadingTask): number[] {
  const all: number[] = [];
  for (let place = 0; place < task.places.length; place++) all.push(place);
  return all;
}

function cheapest(task: ReadingTask, scene: Scene, goal: Goal): number[] {
  let best: number[] | undefined;
  let bestSeconds = Infinity;
  let bestRegret = Infinity;
  for (const bias of BIASES) {
    const design = improved(task, scene, grown(task, scene, goal, bias), goal);
    const seconds = secondsInOrder(task, design);
    const left = designRegret(scene, design);
    if (seconds < bestSeconds || (seconds === bestSeconds && left < bestRegret)) {
      best = design;
      bestSeconds = seconds;
      bestRegret = left;
    }
  }
  return best === undefined ? everyPlace(task) : best;
}

/** Adds the place that lowers the regret most for its seconds until the design is good enough or nothing is left. */
function grown(task: ReadingTask, scene: Scene, goal: Goal, bias: number): number[] {
  const design: number[] = [];
  const known = after(scene, design);
  let before = designRegret(scene, design);
  while (design.length < scene.places.length && !enough(scene, design, goal)) {
    const regrets = regretsWithOneMore(scene, known, design);
    let best = -1;
    let bestRate = -Infinity;
    for (let place = 0; place < regrets.length; place++) {
      if (!holds(design, place)) {
        const rate = (before - regrets[place]) / secondsMore(task, scene, design, place, bias);
        if (rate > bestRate) {
          best = place;
          bestRate = rate;
        }
      }
    }
    before = regrets[best];
    takePlace(scene, known, best);
    design.push(best);
  }
  return design;
}

function secondsMore(
  task: ReadingTask,
  scene: Scene,
  design: readonly number[],
  place: number,
  bias: number,
): number {
  const costs = task.costs ?? READING_COSTS;
  if (clamps(scene, design, place)) return costs.turnS + costs.captureS;
  return bias * clampSeconds(task) + costs.captureS;
}

function improved(task: ReadingTask, scene: Scene, start: readonly number[], goal: Goal): number[] {
  let design = pruned(task, scene, start, goal);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const better = exchanged(task, scene, design, goal);
    if (better === undefined) break;
    design = pruned(task, scene, better, goal);
  }
  return design;
}

/** Drops readings that are not needed, the one that leaves the least regret first. */
function pruned(task: ReadingTask, scene: Scene, start: readonly number[], goal: Goal): number[] {
  let design = start;
  for (;;) {
    const seconds = secondsInOrder(task, design);
    let best: number[] | undefined;
    let bestLoss = Infinity;
    for (let i = 0; i < design.length; i++) {
      const rest = without(design, i);
      const saved = seconds - secondsInOrder(task, rest);
      const loss = designRegret(scene, rest) / (saved > 0 ? saved : toFloat(1));
      if (loss < bestLoss && enough(scene, rest, goal)) {
        best = rest;
        bestLoss = loss;
      }
    }
    if (best === undefined) break;
    design = best;
  }
  const list: number[] = [];
  for (const place of design) list.push(place);
  return list;
}

/** One place for another that is cheaper or helps more; where none is, one place for two. */
function exchanged(
  task: ReadingTask,
  scene: Scene,
  design: readonly number[],
  goal: Goal,
): number[] | undefined {
  const singles: number[][] = [];
  for (let i = 0; i < design.length; i++) singles.push(without(design, i));
  const found = bestExchange(task, scene, design, singles, goal);
  if (found !== undefined) return found;
  const pairs: number[][] = [];
  for (let i = 0; i < singles.length; i++) {
    for (let j = i; j < singles[i].length; j++) pairs.push(without(singles[i], j));
  }
  return bestExchange(task, scene, design, pairs, goal);
}

/** Of all designs that have one place more than one of the bases: the one that costs least, then helps most. */
function bestExchange(
  task: ReadingTask,
  scene: Scene,
  design: readonly number[],
  bases: readonly (readonly number[])[],
  goal: Goal,
): number[] | undefined {
  let best: number[] | undefined;
  let bestSeconds = secondsInOrder(task, design);
  let bestRegret = designRegret(scene, design) - 1e-9;
  for (const base of bases) {
    const regrets = regretsWithOneMore(scene, after(scene, base), base);
    for (let place = 0; place < regrets.length; place++) {
      if (regrets[place] < goal.regret && !holds(design, place)) {
        const other = withPlace(base, place);
        const seconds = secondsInOrder(task, other);
        const better = seconds < bestSeconds || (seconds === bestSeconds && regrets[place] < bestRegret);
        if (better && enough(scene, other, goal)) {
          best = other;
          bestSeconds = seconds;
          bestRegret = regrets[place];
        }
      }
    }
  }
  return best;
}

function withPlace(base: readonly number[], place: number): number[] {
  const list: number[] = [];
  for (const entry of base) list.push(entry);
  list.push(place);
  return list;
}

function enough(scene: Scene, design: readonly number[], goal: Goal): boolean {
  if (!(designRegret(scene, design) < goal.regret)) return false;
  return goal.chance === 0 || chanceOf(scene, after(scene, design), design) >= goal.chance;
}

function clampSeconds(task: ReadingTask): number {
  const costs = task.costs ?? READING_COSTS;
  return toFloat(task.raisedToClamp === true ? costs.raiseClampS : costs.clampS);
}
