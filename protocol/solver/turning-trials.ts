/**
 * How an answer to what to turn would come out, quickly enough to compare hundreds of answers: over a fixed set of errors of
 * the ratios and of the centre of gravity, through the statics.
 */
import type { MeasureQuestion, Point } from './layout';
import { normalQuantile } from './normal';
import { exponential, toFloat, zeros } from './number';
import type { MeasureResult } from './solve-tips';
import type { Support } from './statics';
import { halton, type Hanging, type Response } from './turning';

/** Where the deck's weight acts is known to about this (common practice, no source). */
const CENTRE_OF_GRAVITY_SD_MM = 10;
/** A limit missed by this many standard deviations or more cannot be told from certain. */
const CERTAIN_SIGMAS = 6;

/** Three supports that can carry the deck together. */
export interface Carriers {
  readonly hangers: readonly [number, number, number];
  /** Share of the weight on each. */
  readonly shares: readonly number[];
  /** Per question: change of the measure per mm of rise of each of the three. */
  readonly effects: readonly (readonly number[])[];
  /** Per hanger: height of the deck's plane there per mm of rise of each of the three. */
  readonly reach: readonly (readonly number[])[];
}

interface Trial {
  /** Per adjuster: true ratio over nominal ratio. */
  readonly factors: readonly number[];
  readonly carriers: readonly Carriers[];
}

/** One adjustable measure as it stands. */
interface Aimed {
  readonly question: number;
  readonly valueMm: number;
  readonly standardUncertaintyMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
}

export interface Trials {
  readonly hanging: Hanging;
  readonly aimed: readonly Aimed[];
  readonly nominal: readonly Carriers[];
  readonly trials: readonly Trial[];
}

export interface TrialOutcome {
  /** Mean lower bound of the probability that all adjustable measures are inside. */
  readonly jointProbability: number;
  /** Mean sum of what the measures are outside, in half-widths of their limits. */
  readonly violation: number;
}

/** Undefined when the weight lies outside the supports. */
export function turningTrials(
  measures: readonly MeasureResult[],
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  responses: readonly Response[],
  count: number,
): Trials | undefined {
  const nominal = carriersOf(hanging.hangers, hanging.centreOfGravity, responses);
  if (nominal.length === 0) return undefined;
  const aimed: Aimed[] = [];
  for (let i = 0; i < questions.length; i++) {
    const { what, lowerMm, upperMm } = questions[i];
    const measure = measures[i];
    if (what === 'tips' && measure.determined) {
      const { valueMm, standardUncertaintyMm } = measure;
      aimed.push({ question: i, valueMm, standardUncertaintyMm, lowerMm, upperMm });
    }
  }
  const adjusters = hanging.adjusters.length;
  const trials: Trial[] = [];
  for (let sample = 1; sample <= count; sample++) {
    const factors: number[] = [];
    for (let j = 0; j < adjusters; j++) {
      factors.push(1 + normalQuantile(halton(sample, j)) * hanging.adjusters[j].ratioUncertainty);
    }
    const { xMm, yMm } = hanging.centreOfGravity;
    const centre = {
      xMm: xMm + normalQuantile(halton(sample, adjusters)) * CENTRE_OF_GRAVITY_SD_MM,
      yMm: yMm + normalQuantile(halton(sample, adjusters + 1)) * CENTRE_OF_GRAVITY_SD_MM,
    };
    const carriers = carriersOf(hanging.hangers, centre, responses);
    trials.push({ factors, carriers: carriers.length > 0 ? carriers : nominal });
  }
  return { hanging, aimed, nominal, trials };
}

/** What would come of these turns. Gives up, with probability 0, as soon as `needed` cannot be reached any more. */
export function tryTurns(trials: Trials, turns: readonly number[], needed = 0): TrialOutcome {
  const { hanging, aimed } = trials;
  let spare = (1 - needed) * trials.trials.length;
  let jointProbability = toFloat(0);
  let violation = toFloat(0);
  const rises = zeros(hanging.hangers.length);
  for (const { factors, carriers } of trials.trials) {
    riseBy(rises, hanging, turns, factors);
    const resting = restingOn(carriers, rises);
    let outside = toFloat(0);
    for (const { question, valueMm, standardUncertaintyMm, lowerMm, upperMm } of aimed) {
      const value = valueMm + weighed(resting, resting.effects[question], rises);
      const below = lowerMm - value;
      const above = value - upperMm;
      outside += tail(below, standardUncertaintyMm) + tail(above, standardUncertaintyMm);
      const worse = below > above ? below : above;
      if (worse > 0) violation += (2 * worse) / (toFloat(upperMm) - lowerMm);
    }
    if (outside > 1) outside = toFloat(1);
    jointProbability += 1 - outside;
    spare -= outside;
    if (spare < 0) return { jointProbability: toFloat(0), violation: Infinity };
  }
  const count = trials.trials.length;
  return { jointProbability: jointProbability / count, violation: violation / count };
}

/** The greatest slack among the hangers when all ratios are nominal. */
export function greatestSlackMm(trials: Trials, turns: readonly number[]): number {
  const { hanging, nominal } = trials;
  const rises = zeros(hanging.hangers.length);
  riseBy(rises, hanging, turns);
  const resting = restingOn(nominal, rises);
  let greatest = toFloat(0);
  for (let h = 0; h < rises.length; h++) {
    const slack = weighed(resting, resting.reach[h], rises) - rises[h];
    if (slack > greatest) greatest = slack;
  }
  return greatest;
}

/** Per hanger the share of the trials in which it ends with more slack than a limit. */
export function slackShares(trials: Trials, turns: readonly number[], limitMm: number): number[] {
  const { hanging } = trials;
  const shares = zeros(hanging.hangers.length);
  const rises = zeros(hanging.hangers.length);
  for (const { factors, carriers } of trials.trials) {
    riseBy(rises, hanging, turns, factors);
    const resting = restingOn(carriers, rises);
    for (let h = 0; h < rises.length; h++) {
      if (weighed(resting, resting.reach[h], rises) - rises[h] > limitMm) {
        shares[h] = shares[h] + 1 / trials.trials.length;
      }
    }
  }
  return shares;
}

/**
 * All threes that balance a weight at a place. The deck rests on the three of them that hold the weight highest: the dual
 * of the linear programme in `statics.ts`.
 */
export function carriersOf(
  supports: readonly Support[],
  centre: Point,
  responses: readonly Response[],
): Carriers[] {
  const found: Carriers[] = [];
  for (let i = 0; i < supports.length; i++) {
    for (let j = i + 1; j < supports.length; j++) {
      for (let k = j + 1; k < supports.length; k++) {
        const three = [i, j, k] as const;
        const shares = balance(supports, three, [toFloat(1), toFloat(centre.xMm), toFloat(centre.yMm)]);
        if (shares !== undefined && canCarry(supports, three, shares)) {
          const effects: number[][] = [];
          for (const response of responses) effects.push(balance(supports, three, response) ?? zeros(3));
          const reach: number[][] = [];
          for (const { xMm, yMm } of supports) {
            reach.push(balance(supports, three, [toFloat(1), toFloat(xMm), toFloat(yMm)]) ?? zeros(3));
          }
          found.push({ hangers: [i, j, k], shares, effects, reach });
        }
      }
    }
  }
  return found;
}

function canCarry(
  supports: readonly Support[],
  three: readonly [number, number, number],
  shares: readonly number[],
): boolean {
  for (let k = 0; k < 3; k++) if (supports[three[k]].kind !== 'holds' && shares[k] < -1e-9) return false;
  return true;
}

/** Weights on three supports that add up to a response (weight, its moment forward, its moment sideways). */
function balance(
  supports: readonly Support[],
  three: readonly [number, number, number],
  [weight, x, y]: Response,
): number[] | undefined {
  const a = supports[three[0]];
  const b = supports[three[1]];
  const c = supports[three[2]];
  const whole =
    (toFloat(b.xMm) - a.xMm) * (toFloat(c.yMm) - a.yMm) - (toFloat(c.xMm) - a.xMm) * (toFloat(b.yMm) - a.yMm);
  if (Math.abs(whole) < 1e-6) return undefined;
  const share = (p: Support, q: Support) =>
    (weight * (toFloat(p.xMm) * q.yMm - toFloat(q.xMm) * p.yMm) +
      x * (toFloat(p.yMm) - q.yMm) +
      y * (toFloat(q.xMm) - p.xMm)) /
    whole;
  return [share(b, c), share(c, a), share(a, b)];
}

function riseBy(
  rises: number[],
  hanging: Hanging,
  turns: readonly number[],
  factors?: readonly number[],
): void {
  for (let h = 0; h < rises.length; h++) rises[h] = toFloat(0);
  for (let j = 0; j < turns.length; j++) {
    if (turns[j] !== 0) {
      const real = factors === undefined ? turns[j] : turns[j] * factors[j];
      for (const { hanger, mmPerTurn } of hanging.adjusters[j].moves) {
        rises[hanger] = rises[hanger] + mmPerTurn * real;
      }
    }
  }
}

function restingOn(carriers: readonly Carriers[], rises: readonly number[]): Carriers {
  let highest = carriers[0];
  let height = -Infinity;
  for (const candidate of carriers) {
    const here = weighed(candidate, candidate.shares, rises);
    if (here > height) {
      height = here;
      highest = candidate;
    }
  }
  return highest;
}

function weighed({ hangers }: Carriers, weights: readonly number[], rises: readonly number[]): number {
  return weights[0] * rises[hangers[0]] + weights[1] * rises[hangers[1]] + weights[2] * rises[hangers[2]];
}

/**
 * Probability of a standard normal variable being below `distance / deviation`, within 1e-7: Abramowitz & Stegun, Handbook
 * of Mathematical Functions, 26.2.17.
 */
function tail(distance: number, deviation: number): number {
  const z = distance / deviation;
  if (z < 0 - CERTAIN_SIGMAS) return toFloat(0);
  if (z > CERTAIN_SIGMAS) return toFloat(1);
  const size = Math.abs(z);
  const t = 1 / (1 + 0.2316419 * size);
  const series =
    t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const upper = 0.3989422804014327 * exponential((-size * size) / 2) * series;
  return z < 0 ? upper : 1 - upper;
}
