/**
 * Heights of floor points from a level: staff readings, each set-up of the instrument with one unknown height, and steps
 * of a digital level, adjusted together as a level network by least squares.
 *
 * Points are known by their place from 0. A staff reading says: height of the instrument less height of the point; a step
 * says: height of `to` less height of `from`.
 */
import { absorb, covariance, functional, noInformation, solve, type Answer, type Estimate } from './engine';
import { toFloat, zeros } from './number';

export interface StaffReading {
  /** Number of the set-up: readings with one number were taken without moving the instrument. */
  readonly setUp: number;
  readonly point: number;
  /** Of the instrument's sight above the point. */
  readonly readingMm: number;
  readonly standardUncertaintyMm: number;
}

export interface LevelStep {
  readonly from: number;
  readonly to: number;
  readonly riseMm: number;
  readonly standardUncertaintyMm: number;
}

export interface LevelNetwork {
  /** How many points there are. */
  readonly points: number;
  /** Heights that are taken as known; left out: point 0 has height 0. */
  readonly held?: readonly { readonly point: number; readonly heightMm: number }[];
  readonly staff: readonly StaffReading[];
  readonly steps: readonly LevelStep[];
}

export type PointHeight =
  | { readonly determined: true; readonly heightMm: number; readonly standardUncertaintyMm: number }
  | { readonly determined: false };

/** Observed less adjusted; standardised by its own deviation. Not determined where no other observation checks it. */
export type LevelResidual =
  | { readonly determined: true; readonly valueMm: number; readonly standardised: number }
  | { readonly determined: false };

/** What an observation misses when a loop is closed with it, and what it may miss. */
export interface Misclosure {
  readonly observation: number;
  readonly valueMm: number;
  readonly allowanceMm: number;
}

export interface LevelAdjustment {
  readonly heights: readonly PointHeight[];
  /** Of the heights, lower triangle by rows; 0 where one is not determined. */
  readonly covariance: readonly (readonly number[])[];
  /** Staff readings first, then steps, in their order. */
  readonly residuals: readonly LevelResidual[];
  /** One for every observation beyond those that are needed to reach every point once. */
  readonly misclosures: readonly Misclosure[];
  /** The observation that disagrees most, when beyond the limit of Baarda's test; otherwise -1. */
  readonly suspect: number;
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
}

/** A loop may miss by four standard deviations of the sum of its observations: a bay has dozens of loops. */
const ALLOWANCE_SIGMAS = 4;
/** W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968: standardised residuals at a level of 0.1 %. */
const SUSPECT_SIGMAS = 3.29;
/** An observation with less of its variance left over than this is checked by nothing. */
const UNCHECKED = 1e-9;

/** The rise from node `a` to node `b`. Nodes are the points, then the set-ups. */
interface Rise {
  readonly a: number;
  readonly b: number;
  readonly riseMm: number;
  readonly uMm: number;
}

/** Adjusts the network. What the observations do not reach is answered "not determined"; so is all of it when an uncertainty is not positive. */
export function adjustLevels(network: LevelNetwork): LevelAdjustment {
  const rises = risesOf(network);
  for (const rise of rises) if (!(rise.uMm > 0 && rise.uMm < Infinity)) return nothing(network, rises.length);
  const nodes = nodesOf(network, rises);
  const held = heldHeights(network, nodes);
  const { estimate, rows, observed } = adjusted(rises, held);
  const answers: Answer[] = [];
  const heights: PointHeight[] = [];
  for (let p = 0; p < network.points; p++) {
    const answer = heightAnswer(estimate, held, p);
    answers.push(answer);
    if (answer.determined) {
      const standardUncertaintyMm = Math.sqrt(answer.variance);
      heights.push({ determined: true, heightMm: answer.value, standardUncertaintyMm });
    } else heights.push({ determined: false });
  }
  const residuals = residualsOf(rises, rows, observed, estimate);
  return {
    heights,
    covariance: covarianceOf(answers),
    residuals,
    misclosures: misclosuresOf(rises, held),
    suspect: worstOf(residuals),
    chiSquare: estimate.sumOfSquares,
    degreesOfFreedom: estimate.degreesOfFreedom,
  };
}

function risesOf({ points, staff, steps }: LevelNetwork): Rise[] {
  const setUps: number[] = [];
  const rises: Rise[] = [];
  for (const reading of staff) {
    let place = 0;
    while (place < setUps.length && setUps[place] !== reading.setUp) place += 1;
    if (place === setUps.length) setUps.push(reading.setUp);
    rises.push({
      a: reading.point,
      b: points + place,
      riseMm: toFloat(reading.readingMm),
      uMm: toFloat(reading.standardUncertaintyMm),
    });
  }
  for (const step of steps) {
    const uMm = toFloat(step.standardUncertaintyMm);
    rises.push({ a: step.from, b: step.to, riseMm: toFloat(step.riseMm), uMm });
  }
  return rises;
}

function nodesOf(network: LevelNetwork, rises: readonly Rise[]): number {
  let nodes = network.points;
  for (const rise of rises) if (rise.b >= nodes) nodes = rise.b + 1;
  return nodes;
}

/** Place of each node among the unknowns, -1 where it is held, and its height there. */
interface Held {
  readonly place: readonly number[];
  readonly heightMm: readonly number[];
  readonly unknowns: number;
}

function heldHeights(network: LevelNetwork, nodes: number): Held {
  const heightMm = zeros(nodes);
  const place: number[] = [];
  for (let n = 0; n < nodes; n++) place.push(0);
  const given = network.held ?? [];
  for (const { point, heightMm: height } of given) {
    place[point] = -1;
    heightMm[point] = toFloat(height);
  }
  if (given.length === 0 && nodes > 0) place[0] = -1;
  let unknowns = 0;
  for (let n = 0; n < nodes; n++) {
    if (place[n] === 0) {
      place[n] = unknowns;
      unknowns += 1;
    }
  }
  return { place, heightMm, unknowns };
}

/** The whitened row of each observation over the unknowns, and the network solved. */
function adjusted(rises: readonly Rise[], held: Held) {
  const columns: number[][] = [];
  for (let j = 0; j < held.unknowns; j++) columns.push(zeros(rises.length));
  const observed: number[] = [];
  const rows: number[][] = [];
  for (let i = 0; i < rises.length; i++) {
    const { a, b, riseMm, uMm } = rises[i];
    const row = zeros(held.unknowns);
    const weight = 1 / uMm;
    const from = held.place[a];
    const to = held.place[b];
    if (from >= 0) row[from] = row[from] - weight;
    if (to >= 0) row[to] = row[to] + weight;
    for (let j = 0; j < held.unknowns; j++) columns[j][i] = row[j]!;
    observed.push((riseMm + held.heightMm[a] - held.heightMm[b]) * weight);
    rows.push(row);
  }
  const known = absorb(noInformation(held.unknowns), { columns, observed, logScale: toFloat(0) });
  return { estimate: solve(known), rows, observed };
}

function heightAnswer(estimate: Estimate, held: Held, point: number): Answer {
  const place = held.place[point];
  if (place < 0) {
    return {
      determined: true,
      value: held.heightMm[point],
      variance: toFloat(0),
      root: zeros(estimate.rank),
    };
  }
  const coefficients = zeros(held.unknowns);
  coefficients[place] = toFloat(1);
  return functional(estimate, coefficients);
}

function covarianceOf(answers: readonly Answer[]): number[][] {
  const rows: number[][] = [];
  for (let i = 0; i < answers.length; i++) {
    const a = answers[i];
    const row = zeros(i + 1);
    for (let j = 0; j <= i; j++) {
      const b = answers[j];
      if (a.determined && b.determined) row[j] = covariance(a.root, b.root);
    }
    rows.push(row);
  }
  return rows;
}

function residualsOf(
  rises: readonly Rise[],
  rows: readonly (readonly number[])[],
  observed: readonly number[],
  estimate: Estimate,
): LevelResidual[] {
  const residuals: LevelResidual[] = [];
  for (let i = 0; i < rises.length; i++) {
    const fitted = functional(estimate, rows[i]);
    const left = fitted.determined ? 1 - fitted.variance : toFloat(0);
    if (fitted.determined && left > UNCHECKED) {
      const off = observed[i] - fitted.value;
      residuals.push({
        determined: true,
        valueMm: off * rises[i].uMm,
        standardised: off / Math.sqrt(left),
      });
    } else residuals.push({ determined: false });
  }
  return residuals;
}

function worstOf(residuals: readonly LevelResidual[]): number {
  let worst = -1;
  let most = toFloat(SUSPECT_SIGMAS);
  for (let i = 0; i < residuals.length; i++) {
    const residual = residuals[i];
    if (residual.determined && Math.abs(residual.standardised) > most) {
      worst = i;
      most = Math.abs(residual.standardised);
    }
  }
  return worst;
}

/** How a node is first reached: over which observation, from which node, and its height by that way. */
interface Reached {
  readonly from: number;
  readonly over: number;
  readonly heightMm: number;
}

/** Held points are reached first, then what can be reached from there, then one new beginning for each part that hangs on nothing. */
function misclosuresOf(rises: readonly Rise[], held: Held): Misclosure[] {
  const reached: (Reached | false)[] = [];
  for (let n = 0; n < held.place.length; n++) {
    reached.push(held.place[n] < 0 ? { from: -1, over: -1, heightMm: held.heightMm[n] } : false);
  }
  const used: boolean[] = [];
  for (let i = 0; i < rises.length; i++) used.push(false);
  spread(rises, reached, used);
  for (let n = 0; n < reached.length; n++) {
    if (reached[n] === false) {
      reached[n] = { from: -1, over: -1, heightMm: toFloat(0) };
      spread(rises, reached, used);
    }
  }
  const misclosures: Misclosure[] = [];
  for (let i = 0; i < rises.length; i++) {
    if (!used[i]) misclosures.push(misclosureOf(i, rises, reached));
  }
  return misclosures;
}

function spread(rises: readonly Rise[], reached: (Reached | false)[], used: boolean[]): void {
  let grown = true;
  while (grown) {
    grown = false;
    for (let i = 0; i < rises.length; i++) {
      const { a, b, riseMm } = rises[i];
      const low = reached[a];
      const high = reached[b];
      if (low !== false && high === false) {
        reached[b] = { from: a, over: i, heightMm: low.heightMm + riseMm };
        used[i] = true;
        grown = true;
      } else if (low === false && high !== false) {
        reached[a] = { from: b, over: i, heightMm: high.heightMm - riseMm };
        used[i] = true;
        grown = true;
      }
    }
  }
}

function misclosureOf(
  observation: number,
  rises: readonly Rise[],
  reached: readonly (Reached | false)[],
): Misclosure {
  const { a, b, riseMm, uMm } = rises[observation];
  // What both ways back to the beginning have in common is in the loop twice, and falls out.
  const inLoop = zeros(rises.length);
  let variance = uMm * uMm;
  let valueMm = riseMm;
  const ends = [a, b];
  for (let e = 0; e < 2; e++) {
    let node = ends[e];
    let at = reached[node];
    if (at !== false) valueMm += e === 0 ? at.heightMm : 0 - at.heightMm;
    while (at !== false && at.over >= 0) {
      const square = rises[at.over].uMm * rises[at.over].uMm;
      variance += inLoop[at.over] > 0 ? 0 - square : square;
      inLoop[at.over] = 1 - inLoop[at.over];
      node = at.from;
      at = reached[node];
    }
  }
  return { observation, valueMm, allowanceMm: ALLOWANCE_SIGMAS * Math.sqrt(variance) };
}

function nothing(network: LevelNetwork, observations: number): LevelAdjustment {
  const heights: PointHeight[] = [];
  const rows: number[][] = [];
  for (let p = 0; p < network.points; p++) {
    heights.push({ determined: false });
    rows.push(zeros(p + 1));
  }
  const residuals: LevelResidual[] = [];
  for (let i = 0; i < observations; i++) residuals.push({ determined: false });
  return {
    heights,
    covariance: rows,
    residuals,
    misclosures: [],
    suspect: -1,
    chiSquare: toFloat(0),
    degreesOfFreedom: 0,
  };
}
