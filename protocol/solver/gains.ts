/** What one turn really does: learned from rounds of turning, each a plane before and a plane after. */
import { chiSquareAbove } from './chi-square';
import { absorb, functional, priorInformation, solve, type Information } from './engine';
import type { Point } from './layout';
import { toFloat, zeros } from './number';
import { restDeck } from './statics';
import { hangerRises, type Hanging } from './turning';
import { cholesky, logWhitening, whiten } from './whiten';

/** One round of turning as it came out. */
export interface TurningRound {
  /** Rounds with the same number share one machine of the model; 0 is the machine in hand. */
  readonly machine: number;
  /** Turns made with each adjuster, positive in the raising sense. */
  readonly turns: readonly number[];
  /** Per hanger: false when it was found slack before or after the turning, so that the deck does not show where it is. */
  readonly carrying: readonly boolean[];
  /** How the deck's plane moved: height at the machine's origin and slopes, with their covariance by rows. */
  readonly change: readonly [number, number, number];
  readonly covariance: readonly number[];
}

export interface Gain {
  /** Real over nominal mm per turn. */
  readonly factor: number;
  readonly standardUncertainty: number;
}

export interface Gains {
  /** Of the machine in hand, per adjuster. */
  readonly gains: readonly Gain[];
  readonly roundsUsed: number;
  /** Rounds that contradict what was known, by their place in the list: nothing is learned from them. */
  readonly refused: readonly number[];
}

/** What a round that does not fit looks like. */
export type RoundExplanation =
  | { readonly what: 'as said' }
  | { readonly what: 'nothing moved' }
  | { readonly what: 'did not move' | 'wrong way'; readonly adjuster: number }
  | { readonly what: 'other adjuster'; readonly adjuster: number; readonly instead: number };

/** Machines of one model differ from each other by this share of a ratio (assumed). */
const MACHINE_SPREAD = 0.02;
/** A hanger that feels as if it carried may hang this much low (assumed). */
const CONTACT_SD_MM = 0.12;
/** Play of the thread and of setting the flat, in turns (assumed). */
const SETTING_SD_TURNS = 0.04;
/** A round less likely than this contradicts what was said of it. */
const CONTRADICTS = 0.001;
/** An explanation is as good as another when neither is this many times likelier (in chi-square). */
const AS_LIKELY = 4;

/**
 * Learns the ratios of the machine in hand from rounds on it (machine 0) and on others of its model. An adjuster's ratio is
 * the model's (prior: nominal, `ratioUncertainty`) plus what the machine adds (assumed 2 %); a hanger that carried shows its
 * rise. Hangers that were found slack are left out, and so is a round whose residual is beyond 99.9 % of chi-square.
 */
export function learnGains(hanging: Hanging, rounds: readonly TurningRound[]): Gains {
  const count = hanging.adjusters.length;
  const own: number[] = [];
  const shared: number[] = [];
  for (const { ratioUncertainty } of hanging.adjusters) {
    const spread = Math.min(MACHINE_SPREAD, 0.7 * ratioUncertainty);
    own.push(spread);
    shared.push(Math.sqrt(ratioUncertainty * ratioUncertainty - spread * spread));
  }
  const ones = zeros(count);
  for (let j = 0; j < count; j++) ones[j] = toFloat(1);
  let model = priorInformation(ones, shared);
  let machines = 0;
  for (const { machine } of rounds) machines = Math.max(machines, machine);
  const refused: number[] = [];
  let roundsUsed = 0;
  // The machine in hand comes last, so that what it adds is still there when its ratios are asked for.
  for (let machine = machines; machine >= 0; machine--) {
    let known = beside(priorInformation(zeros(count), own), model);
    for (let r = 0; r < rounds.length; r++) {
      if (rounds[r].machine === machine) {
        const learned = withRound(known, hanging, rounds[r]);
        if (learned === undefined) refused.push(r);
        else {
          known = learned;
          roundsUsed += 1;
        }
      }
    }
    if (machine > 0) model = lowerPart(known, count);
    else return { gains: gainsOf(known, hanging), roundsUsed, refused };
  }
  return { gains: [], roundsUsed, refused };
}

/** Two independent vectors as one, the first in front. */
function beside(first: Information, second: Information): Information {
  const size = first.size + second.size;
  const triangle: number[][] = [];
  const rhs: number[] = [];
  for (let i = 0; i < size; i++) {
    const row = zeros(size);
    const inFirst = i < first.size;
    const from = inFirst ? first.triangle[i] : second.triangle[i - first.size];
    const shift = inFirst ? 0 : first.size;
    for (let k = 0; k < from.length; k++) row[shift + k] = from[k];
    triangle.push(row);
    rhs.push(inFirst ? first.rhs[i] : second.rhs[i - first.size]);
  }
  const sumOfSquares = first.sumOfSquares + second.sumOfSquares;
  const logScale = first.logScale + second.logScale;
  return { size, triangle, rhs, sumOfSquares, rows: first.rows + second.rows, logScale };
}

/** What is known of the last `count` unknowns alone: the lower right corner of the triangle. */
function lowerPart(known: Information, count: number): Information {
  const from = known.size - count;
  const triangle: number[][] = [];
  const rhs: number[] = [];
  for (let i = from; i < known.size; i++) {
    const row: number[] = [];
    for (let k = from; k < known.size; k++) row.push(known.triangle[i][k]);
    triangle.push(row);
    rhs.push(known.rhs[i]);
  }
  return { size: count, triangle, rhs, sumOfSquares: toFloat(0), rows: count, logScale: toFloat(0) };
}

function gainsOf(known: Information, hanging: Hanging): Gain[] {
  const count = hanging.adjusters.length;
  const estimate = solve(known);
  const gains: Gain[] = [];
  for (let j = 0; j < count; j++) {
    const coefficients = zeros(2 * count);
    coefficients[j] = toFloat(1);
    coefficients[count + j] = toFloat(1);
    const answer = functional(estimate, coefficients);
    gains.push(
      answer.determined
        ? { factor: answer.value, standardUncertainty: Math.sqrt(answer.variance) }
        : { factor: toFloat(1), standardUncertainty: hanging.adjusters[j].ratioUncertainty },
    );
  }
  return gains;
}

/** The hanging with learned ratios in place of the nominal ones. */
export function withGains(hanging: Hanging, gains: readonly Gain[]): Hanging {
  const adjusters: Hanging['adjusters'][number][] = [];
  for (let j = 0; j < hanging.adjusters.length; j++) {
    const { moves, travelTurns } = hanging.adjusters[j];
    const { factor, standardUncertainty } = gains[j];
    const learned: { hanger: number; mmPerTurn: number }[] = [];
    for (const { hanger, mmPerTurn } of moves) learned.push({ hanger, mmPerTurn: mmPerTurn * factor });
    adjusters.push({ moves: learned, ratioUncertainty: standardUncertainty / Math.abs(factor), travelTurns });
  }
  return { hangers: hanging.hangers, centreOfGravity: hanging.centreOfGravity, adjusters };
}

/**
 * Whether a round came out as was said, and if it did not, what would explain it: an adjuster turned the wrong way, one that
 * did not move its hanger (stuck, or turned on a slack hanger), another adjuster turned in its place, or a deck that sticks.
 * Empty when nothing of that does. A hanger that was left low by mistake, on a deck that rests on the others, hangs slack
 * and does not show here: it is found when the hangers are felt, and taken up. Everything goes through the statics, with the ratios known as well as `hanging` says.
 */
export function explainRound(hanging: Hanging, round: TurningRound): RoundExplanation[] {
  const count = round.turns.length;
  const said = misfitOf(hanging, round, round.turns);
  if (said === undefined || fits(said)) return [{ what: 'as said' }];
  const tried: { explanation: RoundExplanation; misfit: number }[] = [];
  const attempt = (explanation: RoundExplanation, turns: readonly number[]) => {
    const misfit = misfitOf(hanging, round, turns);
    if (misfit !== undefined && fits(misfit)) tried.push({ explanation, misfit });
  };
  attempt({ what: 'nothing moved' }, zeros(count));
  for (let j = 0; j < count; j++) {
    if (round.turns[j] !== 0) {
      attempt({ what: 'wrong way', adjuster: j }, replaced(round.turns, j, 0 - round.turns[j]));
      attempt({ what: 'did not move', adjuster: j }, replaced(round.turns, j, toFloat(0)));
      for (let k = 0; k < count; k++) {
        if (k !== j) {
          const without = replaced(round.turns, j, toFloat(0));
          const turns = replaced(without, k, without[k] + round.turns[j]);
          attempt({ what: 'other adjuster', adjuster: j, instead: k }, turns);
        }
      }
    }
  }
  let least = Infinity;
  for (const { misfit } of tried) least = Math.min(least, misfit);
  const likely: RoundExplanation[] = [];
  for (const { explanation, misfit } of tried) if (misfit <= least + AS_LIKELY) likely.push(explanation);
  return likely;
}

function fits(misfit: number): boolean {
  return chiSquareAbove(misfit, 3) >= CONTRADICTS;
}

function replaced(turns: readonly number[], at: number, by: number): number[] {
  const list: number[] = [];
  for (let j = 0; j < turns.length; j++) list.push(toFloat(j === at ? by : turns[j]));
  return list;
}

/**
 * Adds what a round shows, to the machine's additions and the model's ratios behind them: the rise of every hanger that
 * carried is the sum of its adjusters' turns times their ratios. Undefined when it shows nothing or contradicts what is known.
 */
function withRound(known: Information, hanging: Hanging, round: TurningRound): Information | undefined {
  const count = hanging.adjusters.length;
  const shown: number[] = [];
  for (let h = 0; h < hanging.hangers.length; h++) if (round.carrying[h]) shown.push(h);
  if (shown.length === 0) return undefined;
  const places: Point[] = [];
  for (const h of shown) places.push(hanging.hangers[h]);
  const noise = changeCovariance(round, places);
  const columns: number[][] = [];
  for (let c = 0; c < known.size; c++) columns.push(zeros(shown.length));
  for (let j = 0; j < count; j++) {
    for (const { hanger, mmPerTurn } of hanging.adjusters[j].moves) {
      for (let i = 0; i < shown.length; i++) {
        if (shown[i] === hanger && round.turns[j] !== 0) {
          const rise = mmPerTurn * round.turns[j];
          columns[j][i] = columns[j][i] + rise;
          columns[count + j][i] = columns[count + j][i] + rise;
          const play = mmPerTurn * SETTING_SD_TURNS;
          noise[i][i] = noise[i][i] + play * play;
        }
      }
    }
  }
  const lower = cholesky(noise);
  if (lower === undefined) return undefined;
  const whitened: number[][] = [];
  for (const column of columns) whitened.push(whiten(lower, column, 0));
  const observed = whiten(lower, changesAt(round.change, places), 0);
  const learned = absorb(known, { columns: whitened, observed, logScale: logWhitening(lower) });
  const misfit = learned.sumOfSquares - known.sumOfSquares;
  return chiSquareAbove(misfit, shown.length) < CONTRADICTS ? undefined : learned;
}

/** Chi-square of the found change against the statics' answer for these turns, at three hangers; 3 degrees of freedom. */
function misfitOf(hanging: Hanging, round: TurningRound, turns: readonly number[]): number | undefined {
  const places = threeApart(hanging.hangers);
  const expected = restingAt(hanging, hangerRises(hanging, turns), places);
  if (expected === undefined) return undefined;
  const noise = changeCovariance(round, places);
  for (let j = 0; j < turns.length; j++) {
    const { ratioUncertainty } = hanging.adjusters[j];
    const off = Math.sqrt(
      turns[j] * turns[j] * ratioUncertainty * ratioUncertainty +
        (turns[j] === 0 ? 0 : SETTING_SD_TURNS * SETTING_SD_TURNS),
    );
    // The statics bend where a hanger goes slack: half the difference of both sides stands for the slope.
    const more = restingAt(hanging, hangerRises(hanging, replaced(turns, j, turns[j] + off)), places);
    const less = restingAt(hanging, hangerRises(hanging, replaced(turns, j, turns[j] - off)), places);
    if (more === undefined || less === undefined) return undefined;
    for (let a = 0; a < 3; a++) {
      for (let b = 0; b <= a; b++) {
        noise[a][b] = noise[a][b] + ((more[a] - less[a]) * (more[b] - less[b])) / 4;
      }
    }
  }
  const lower = cholesky(noise);
  if (lower === undefined) return undefined;
  const found = changesAt(round.change, places);
  const miss: number[] = [];
  for (let a = 0; a < 3; a++) miss.push(found[a] - expected[a]);
  let sum = toFloat(0);
  for (const value of whiten(lower, miss, 0)) sum += value * value;
  return sum;
}

function restingAt(
  hanging: Hanging,
  rises: readonly number[],
  places: readonly Point[],
): number[] | undefined {
  const rest = restDeck(hanging.hangers, rises, hanging.centreOfGravity);
  return rest === undefined ? undefined : changesAt([rest.z0Mm, rest.slopeX, rest.slopeY], places);
}

function changesAt(change: readonly [number, number, number], places: readonly Point[]): number[] {
  const list: number[] = [];
  for (const { xMm, yMm } of places) list.push(change[0] + change[1] * xMm + change[2] * yMm);
  return list;
}

/** Covariance of the plane's change at some places, and of what feels as if it carried there, before and after. */
function changeCovariance(round: TurningRound, places: readonly Point[]): number[][] {
  const { covariance } = round;
  const matrix: number[][] = [];
  for (const a of places) {
    const left = [toFloat(1), toFloat(a.xMm), toFloat(a.yMm)];
    const row: number[] = [];
    for (const b of places) {
      const right = [toFloat(1), toFloat(b.xMm), toFloat(b.yMm)];
      let sum = a === b ? 2 * CONTACT_SD_MM * CONTACT_SD_MM : toFloat(0);
      for (let i = 0; i < 3; i++) {
        for (let k = 0; k < 3; k++) sum += left[i] * covariance[3 * i + k] * right[k];
      }
      row.push(sum);
    }
    matrix.push(row);
  }
  return matrix;
}

/** The three hangers with the largest triangle. */
function threeApart(hangers: readonly Point[]): Point[] {
  let largest = -1;
  let chosen: Point[] = [];
  for (let i = 0; i < hangers.length; i++) {
    for (let j = i + 1; j < hangers.length; j++) {
      for (let k = j + 1; k < hangers.length; k++) {
        const a = hangers[i];
        const b = hangers[j];
        const c = hangers[k];
        const area = Math.abs(
          (toFloat(b.xMm) - a.xMm) * (toFloat(c.yMm) - a.yMm) -
            (toFloat(c.xMm) - a.xMm) * (toFloat(b.yMm) - a.yMm),
        );
        if (area > largest) {
          largest = area;
          chosen = [a, b, c];
        }
      }
    }
  }
  return chosen;
}
