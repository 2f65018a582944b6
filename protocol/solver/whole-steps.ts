/** What to turn in whole steps of the adjusters (flats, notches): a search over lattice points through the statics. */
import type { MeasureQuestion } from './layout';
import { toFloat, zeros } from './number';
import type { Solution } from './solve-tips';
import { restDeck } from './statics';
import {
  aimingEquations,
  hangerRises,
  outcome,
  responseOf,
  shiftsOf,
  withinTravel,
  type Hanging,
  type Response,
  type Turning,
} from './turning';
import { greatestSlackMm, slackShares, tryTurns, turningTrials, type Trials } from './turning-trials';

export interface StepTurning extends Turning {
  /** Whole steps per adjuster; `turns` are these times the size of a step. */
  readonly steps: readonly number[];
  /** True when a slightly different centre of gravity would rest the deck on other hangers, with another pose. */
  readonly fragile: boolean;
  /** Per hanger: probability that it ends with more slack than `SLACK_LIMIT_MM`, whatever the measures do. */
  readonly slackProbability: readonly number[];
  /** The hanger to be set by feel after the others are turned and the deck is seated, -1 where none is likely to be slack. */
  readonly lastByFeel: number;
}

/** A hanger with no more slack than this feels as if it carried (common practice, no source). */
export const SLACK_LIMIT_MM = 0.3;
/** Answers this near to the best one, as a share of its probability, are as good: decision 0006 says why so near. */
const AS_GOOD = 0.0005;
/** Below this probability everywhere the least violation is looked for. */
const HOPELESS = 0.01;
/** Nothing better is looked for once this little is missing. */
const NEGLIGIBLE = 1e-4;
/** Errors tried out for every answer. */
const TRIALS = 48;
/** Displacement of the centre of gravity for trying whether a pose is fragile; and how much a measure may then change. */
const DISPLACED_MM = 10;
const FRAGILE_SHARE = 0.1;
/** Setting a hanger by feel is offered when it would otherwise be slack this often. */
const OFTEN_SLACK = 0.2;

/**
 * The whole steps with the greatest joint probability that the adjustable measures are inside their limits, errors of the
 * ratios included, among those that leave no hanger with more slack than `SLACK_LIMIT_MM` (less slack where that cannot be
 * had); among answers within 1 % of it the one with the fewest adjusters, then the least turning. Where no answer has a
 * probability worth the name: the least expected violation. `stepTurns` is the size of each adjuster's step in turns.
 *
 * For every set of adjusters the search starts at the lattice point nearest to the continuous optimum and climbs over
 * neighbours (one step on any of them, and tilting or lifting all of them together). `limitedBy` tells what stops the
 * continuous answer. Undefined when the weight would hang outside the hangers.
 */
export function turnInSteps(
  solution: Pick<Solution, 'layout' | 'measures'>,
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  carrying: readonly boolean[],
  stepTurns: readonly number[],
): StepTurning | undefined {
  const responses: Response[] = [];
  for (const question of questions) responses.push(responseOf(solution.layout, question));
  const trials = turningTrials(solution.measures, hanging, questions, responses, TRIALS);
  const aim = aimingEquations(solution, hanging, questions, responses);
  const free = withinTravel(aim, hanging.adjusters);
  const unrounded = outcome(solution, hanging, questions, responses, carrying, free.turns, free.atTravelEnd);
  if (trials === undefined || unrounded === undefined) return undefined;

  const lattice = latticeOf(trials, hanging, stepTurns);
  const start = (used: readonly boolean[]) => {
    const adjusters: Hanging['adjusters'][number][] = [];
    for (let j = 0; j < used.length; j++) {
      const adjuster = hanging.adjusters[j];
      adjusters.push(used[j] ? adjuster : { ...adjuster, travelTurns: [toFloat(0), toFloat(0)] });
    }
    return nearest(lattice, withinTravel(aim, adjusters).turns);
  };
  const steps = fewestAdjusters(lattice, start);
  const turns = turnsOf(lattice, steps);
  const answer = outcome(solution, hanging, questions, responses, carrying, turns, free.atTravelEnd);
  if (answer === undefined) return undefined;
  const slackProbability = slackShares(trials, turns, SLACK_LIMIT_MM);
  return {
    ...answer,
    limitedBy: unrounded.limitedBy,
    steps,
    fragile: isFragile(hanging, questions, responses, turns),
    slackProbability,
    lastByFeel: oftenSlack(hanging, slackProbability),
  };
}

interface Lattice {
  readonly trials: Trials;
  readonly stepTurns: readonly number[];
  readonly lowest: readonly number[];
  readonly highest: readonly number[];
  /** The three ways of moving the deck as a whole, in steps per adjuster, the largest being 1. */
  readonly wholeMoves: readonly (readonly number[])[];
}

function latticeOf(trials: Trials, hanging: Hanging, stepTurns: readonly number[]): Lattice {
  const lowest: number[] = [];
  const highest: number[] = [];
  for (let j = 0; j < stepTurns.length; j++) {
    const [low, high] = hanging.adjusters[j].travelTurns;
    // Whole steps inside the travel; a sixth is no exact number.
    lowest.push(toFloat(Math.ceil(low / stepTurns[j] - 1e-9)));
    highest.push(toFloat(Math.floor(high / stepTurns[j] + 1e-9)));
  }
  const wholeMoves: number[][] = [];
  for (let way = 0; way < 3; way++) {
    const wanted = zeros(stepTurns.length);
    let largest = toFloat(0);
    for (let j = 0; j < stepTurns.length; j++) {
      for (const { hanger, mmPerTurn } of hanging.adjusters[j].moves) {
        const { xMm, yMm } = hanging.hangers[hanger];
        const from = hanging.centreOfGravity;
        const rise = way === 0 ? 1 : way === 1 ? toFloat(xMm) - from.xMm : toFloat(yMm) - from.yMm;
        wanted[j] = wanted[j] + rise / (mmPerTurn * stepTurns[j] * hanging.adjusters[j].moves.length);
      }
      largest = Math.max(largest, Math.abs(wanted[j]));
    }
    const move: number[] = [];
    for (const steps of wanted) move.push(toFloat(Math.floor(steps / largest + 0.5)));
    wholeMoves.push(move);
  }
  return { trials, stepTurns, lowest, highest, wholeMoves };
}

function turnsOf({ stepTurns }: Lattice, steps: readonly number[]): number[] {
  const turns: number[] = [];
  for (let j = 0; j < steps.length; j++) turns.push(steps[j] * stepTurns[j]);
  return turns;
}

function nearest({ stepTurns, lowest, highest }: Lattice, turns: readonly number[]): number[] {
  const steps: number[] = [];
  for (let j = 0; j < turns.length; j++) {
    const rounded = Math.floor(turns[j] / stepTurns[j] + 0.5);
    steps.push(toFloat(Math.min(highest[j], Math.max(lowest[j], rounded))));
  }
  return steps;
}

/** A lattice point with what it is worth: a probability, or below 0 what is lost while there is none. */
interface Place {
  readonly steps: readonly number[];
  readonly worth: number;
}

/** Where the worth is sure to be less than `needed`, it may come out too low. */
function placeOf(lattice: Lattice, steps: readonly number[], needed = -Infinity): Place {
  const turns = turnsOf(lattice, steps);
  const slack = greatestSlackMm(lattice.trials, turns);
  // Any answer without slack is better than any with it.
  if (slack > SLACK_LIMIT_MM) return { steps, worth: -1e6 - slack };
  const { jointProbability, violation } = tryTurns(lattice.trials, turns, needed > HOPELESS ? needed : 0);
  return { steps, worth: jointProbability > HOPELESS ? jointProbability : 0 - violation };
}

function fewestAdjusters(lattice: Lattice, start: (used: readonly boolean[]) => number[]): readonly number[] {
  const count = lattice.stepTurns.length;
  const all: boolean[] = [];
  for (let j = 0; j < count; j++) all.push(lattice.lowest[j] < lattice.highest[j]);
  const best = climb(lattice, placeOf(lattice, start(all)), all, toFloat(1) - NEGLIGIBLE);
  const enough = best.worth > 0 ? best.worth * (1 - AS_GOOD) : best.worth * (1 + AS_GOOD);
  let chosen = leastTurning(lattice, best, all, enough);
  let found = false;
  for (let size = 0; size < count && !found; size++) {
    let least = Infinity;
    for (const used of setsOf(count, size)) {
      const place = climb(lattice, placeOf(lattice, start(used)), used, enough);
      if (place.worth >= enough) {
        const lazy = leastTurning(lattice, place, used, enough);
        const turning = turningOf(lattice, lazy.steps);
        if (turning < least) {
          least = turning;
          chosen = lazy;
          found = true;
        }
      }
    }
  }
  return chosen.steps;
}

/** All choices of `size` adjusters out of `count`. */
function setsOf(count: number, size: number): boolean[][] {
  if (count === 0) return size === 0 ? [[]] : [];
  const sets: boolean[][] = [];
  for (const rest of setsOf(count - 1, size)) {
    rest.push(false);
    sets.push(rest);
  }
  if (size > 0) {
    for (const rest of setsOf(count - 1, size - 1)) {
      rest.push(true);
      sets.push(rest);
    }
  }
  return sets;
}

/** Steepest way up over the neighbours until none is worth more, or it is worth enough. */
function climb(lattice: Lattice, from: Place, used: readonly boolean[], enough: number): Place {
  const moves = movesFor(lattice, used);
  let here = from;
  while (here.worth < enough) {
    let best = here;
    for (const move of moves) {
      const steps = moved(lattice, here.steps, move);
      if (steps !== undefined) {
        const place = placeOf(lattice, steps, best.worth);
        if (place.worth > best.worth) best = place;
      }
    }
    if (best === here) return here;
    here = best;
  }
  return here;
}

/** Turns back, as much as it can at each move, as long as the answer stays as good. */
function leastTurning(lattice: Lattice, from: Place, used: readonly boolean[], enough: number): Place {
  const moves = movesFor(lattice, used);
  let here = from;
  for (;;) {
    const candidates: { steps: number[]; turning: number; order: number }[] = [];
    const now = turningOf(lattice, here.steps);
    for (const move of moves) {
      const steps = moved(lattice, here.steps, move);
      if (steps !== undefined) {
        const turning = turningOf(lattice, steps);
        if (turning < now - 1e-9) candidates.push({ steps, turning, order: candidates.length });
      }
    }
    // Lua's sort is not stable: equals keep their order by number.
    candidates.sort((a, b) => (a.turning === b.turning ? a.order - b.order : a.turning - b.turning));
    let next = here;
    for (const { steps } of candidates) {
      if (next === here) {
        const place = placeOf(lattice, steps, enough);
        if (place.worth >= enough) next = place;
      }
    }
    if (next === here) return here;
    here = next;
  }
}

function turningOf(lattice: Lattice, steps: readonly number[]): number {
  let sum = toFloat(0);
  for (let j = 0; j < steps.length; j++) sum += Math.abs(steps[j]) * lattice.stepTurns[j];
  return sum;
}

/** One step on any one or two adjusters, on any of up to four at once, and the whole deck's three moves; both ways. */
function movesFor({ wholeMoves }: Lattice, used: readonly boolean[]): number[][] {
  const count = used.length;
  const free: number[] = [];
  for (let j = 0; j < count; j++) if (used[j]) free.push(j);
  const moves: number[][] = [];
  if (free.length <= 4) {
    let combinations = 1;
    for (let k = 0; k < free.length; k++) combinations *= 3;
    for (let code = 0; code < combinations; code++) {
      const move = zeros(count);
      let rest = code;
      let some = false;
      for (const j of free) {
        const next = Math.floor(rest / 3);
        move[j] = toFloat(rest - 3 * next - 1);
        if (move[j] !== 0) some = true;
        rest = next;
      }
      if (some) moves.push(move);
    }
    return moves;
  }
  for (let a = 0; a < free.length; a++) {
    for (const way of [1, -1]) {
      const single = zeros(count);
      single[free[a]] = toFloat(way);
      moves.push(single);
      for (let b = a + 1; b < free.length; b++) {
        for (const other of [1, -1]) {
          const pair = zeros(count);
          pair[free[a]] = toFloat(way);
          pair[free[b]] = toFloat(other);
          moves.push(pair);
        }
      }
    }
  }
  for (const whole of wholeMoves) {
    for (const way of [1, -1]) {
      const move = zeros(count);
      for (const j of free) move[j] = way * whole[j];
      moves.push(move);
    }
  }
  return moves;
}

/** Undefined beyond the travel. */
function moved(
  { lowest, highest }: Lattice,
  steps: readonly number[],
  move: readonly number[],
): number[] | undefined {
  const to: number[] = [];
  for (let j = 0; j < steps.length; j++) {
    const there = steps[j] + move[j];
    if (there < lowest[j] || there > highest[j]) return undefined;
    to.push(there);
  }
  return to;
}

/** Whether the measures change when the weight acts a little to any side of where it is thought to. */
function isFragile(
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  responses: readonly Response[],
  turns: readonly number[],
): boolean {
  const rises = hangerRises(hanging, turns);
  const shiftAt = (xMm: number, yMm: number) => {
    const rest = restDeck(hanging.hangers, rises, { xMm, yMm });
    return rest === undefined ? undefined : shiftsOf(responses, rest.z0Mm, rest.slopeX, rest.slopeY);
  };
  const { xMm, yMm } = hanging.centreOfGravity;
  const here = shiftAt(xMm, yMm);
  if (here === undefined) return true;
  for (const [dx, dy] of [
    [1, 0],
    [-1, 0],
    [0, 1],
    [0, -1],
  ]) {
    const there = shiftAt(toFloat(xMm) + dx * DISPLACED_MM, toFloat(yMm) + dy * DISPLACED_MM);
    if (there === undefined) return true;
    for (let i = 0; i < questions.length; i++) {
      const halfWidthMm = (toFloat(questions[i].upperMm) - questions[i].lowerMm) / 2;
      if (Math.abs(there[i] - here[i]) > FRAGILE_SHARE * halfWidthMm) return true;
    }
  }
  return false;
}

/** Of the hangers that their own adjuster can set by feel, the one that is slack most often, where that is often enough. */
function oftenSlack(hanging: Hanging, slackProbability: readonly number[]): number {
  let hanger = -1;
  let most = OFTEN_SLACK;
  for (let h = 0; h < slackProbability.length; h++) {
    if (slackProbability[h] > most && hasItsOwn(hanging, h)) {
      hanger = h;
      most = slackProbability[h];
    }
  }
  return hanger;
}

function hasItsOwn(hanging: Hanging, hanger: number): boolean {
  for (const { moves } of hanging.adjusters)
    if (moves.length === 1 && moves[0].hanger === hanger) return true;
  return false;
}
