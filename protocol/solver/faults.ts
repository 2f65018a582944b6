/**
 * What is wrong with the machine, told from its readings: explanations ranked by their posterior probability, those that
 * the readings cannot tell apart together.
 *
 * The machine with its parts in order is the tip model with each part's width cut to a third of its limit. An explanation
 * adds one fault of unknown size c v, c ~ N(0, W^2): the same as widening one prior of the engine. With Q the inverse of
 * the readings' covariance with the vague deck plane projected out, the engine's log evidence grows by
 * (u^2 W^2 / (1 + s W^2) - log (1 + s W^2)) / 2 with s = v'Qv and u = v'Qy (matrix determinant lemma), so a hundred
 * explanations cost about as much as one solution. Faults are taken up one after the other until a machine without a
 * further one is the likeliest; then each one's size is found beside the others.
 */
import { covariance } from './engine';
import {
  candidatesOf,
  clampings,
  columnsOf,
  PRIOR_ODDS,
  relabellings,
  SHOP_LIMIT_MM,
  unknownsOf,
  type Candidate,
  type FaultKind,
} from './fault-candidates';
import type { Layout, MeasureQuestion, TipReading, Widths } from './layout';
import { normalBelow } from './normal';
import { exponential, logarithm, toFloat } from './number';
import type { Pose, Solution } from './solve-tips';
import { designColumns, PLANE, readingCovariance, tipModel, type Slopes, type TipModel } from './tip-model';
import { widenForTape } from './taped';
import { cholesky, logWhitening, whiten, type Lower } from './whiten';

export interface Explanation {
  readonly kind: FaultKind;
  /** The spindle whose part it is, or whose tip was read; -1 for the shell. */
  readonly spindle: number;
  /** Numbers of the readings that it rests on. */
  readonly readings: readonly number[];
  /**
   * Blade and shaft: end A above end B, as last fitted. Spindle: its height against the shell, or the rise across the
   * blade's circle where it is steepest. Shell: height of its corners off the plane. Floor: height of the spot. Reading: by
   * how much it is too high.
   */
  readonly sizeMm: number;
  readonly standardUncertaintyMm: number;
  /** For a tilted spindle the rise across the circle forward and to the left, else 0. */
  readonly riseForwardMm: number;
  readonly riseLeftMm: number;
  /** For a reading: four standard deviations of what the other readings predict. */
  readonly limitMm: number;
  /** Name of the question that the limit is taken from; '': the shop limit, or a reading's own. */
  readonly limitOf: string;
  /** Posterior probability among all explanations and the machine without this fault. */
  readonly probability: number;
  /** Probability that the size is beyond the limit, if this is the explanation. */
  readonly beyondLimit: number;
}

/** One fault. The first explanation is the likeliest; more than one: the readings cannot tell them apart. */
export interface Finding {
  readonly explanations: readonly Explanation[];
}

export interface Faults {
  /** Probability that nothing is wrong beside what was found: the rest is adjustment. 0 when nothing can be said. */
  readonly adjustmentOnly: number;
  readonly findings: readonly Finding[];
  /** Faults of parts that would not show in these readings even at twice their limit. */
  readonly hidden: readonly { readonly kind: FaultKind; readonly spindle: number }[];
}

/** Explanations within this ratio of the likeliest one are not told apart. */
const TOLD_APART = 20;
/** A part in order keeps its limit with this many standard deviations. */
const IN_ORDER = 3;
/** Prior of a fault's size, in limits. */
const FAULT_IN_LIMITS = 2;
const MOST_FAULTS = 5;
/** A fault at twice its limit shows when it moves the whitened readings by this many standard deviations. */
const SHOWS = 3;
/** Only clampings that stand out by this log Bayes factor are tried under another label. */
const WORTH_TRYING = 3;
const QUESTION_SIGMAS = 4;

/** The readings against parts in order and the faults taken up so far, whitened, the vague plane projected out. */
interface View {
  readonly model: TipModel;
  readonly lower: Lower;
  readonly plane: readonly (readonly number[])[];
  readonly observed: readonly number[];
  readonly logEvidence: number;
}

interface Score {
  readonly candidate: Candidate;
  readonly logBayes: number;
  /** The size's two directions: mean, and covariance (first, both, second). */
  readonly mean: readonly [number, number];
  readonly covariance: readonly [number, number, number];
  readonly limitMm: number;
}

/** Explains the readings that were solved. Says nothing when they do not determine the deck's plane. */
export function explainFaults(
  layout: Layout,
  readings: readonly TipReading[],
  widths: Widths,
  questions: readonly MeasureQuestion[],
  solution: Pick<Solution, 'pose'>,
): Faults {
  if (solution.pose === 'not determined') return NOTHING_TO_SAY;
  const slopes = slopesOf(layout, widths, solution.pose);
  const tight = partsInOrder(layout, widths, questions);
  const tape = layout.uncertaintyMm;
  const inOrder = tape === undefined ? tight : widenForTape(layout, tape, tight, slopes);
  const seeing = (labelled: readonly TipReading[], found: readonly Candidate[], sized?: Candidate) =>
    viewOf(tipModel(layout, labelled, inOrder), slopes, found, sized);
  const first = seeing(readings, []);
  if (first === undefined) return NOTHING_TO_SAY;
  const groups: Score[][] = [];
  const logTotals: number[] = [];
  let adjustmentOnly = toFloat(0);
  for (;;) {
    const leaders = leadersBut(groups, -1);
    const labelled = labelledBy(leaders, readings);
    const view = seeing(labelled, leaders);
    if (view === undefined) return NOTHING_TO_SAY;
    const scores: Score[] = [];
    for (const candidate of candidatesOf(view.model, questions)) {
      if (!isIn(groups, candidate)) scores.push(scoreOf(view, candidate));
    }
    addRelabellings(scores, view, (others) => seeing(others, leaders));
    const logTotal = logSum(scores);
    adjustmentOnly = exponential(0 - logTotal);
    if (adjustmentOnly >= 0.5 || groups.length === MOST_FAULTS) break;
    groups.push(likeliest(scores));
    logTotals.push(logTotal);
  }
  const findings: Finding[] = [];
  for (let g = 0; g < groups.length; g++) {
    const others = leadersBut(groups, g);
    const explanations: Explanation[] = [];
    for (const score of groups[g]) {
      const view = seeing(labelledBy(others, readings), others, score.candidate);
      const sized = view === undefined ? score : scoreOf(view, score.candidate);
      explanations.push(explanationOf(sized, exponential(weightOf(score) - logTotals[g])));
    }
    findings.push({ explanations });
  }
  return { adjustmentOnly, findings, hidden: hiddenIn(first, questions) };
}

const NOTHING_TO_SAY: Faults = { adjustmentOnly: 0, findings: [], hidden: [] };

/** What heading errors are multiplied by: the slopes of the solution. */
function slopesOf(layout: Layout, widths: Widths, pose: Pose): Slopes {
  const tilt = toFloat(widths.spindleTiltRad) * widths.spindleTiltRad;
  const x: number[] = [];
  const y: number[] = [];
  const varianceX: number[] = [];
  const varianceY: number[] = [];
  for (let k = 0; k < layout.spindles.length; k++) {
    x.push(toFloat(pose.slopeX));
    y.push(toFloat(pose.slopeY));
    varianceX.push(toFloat(pose.covariance[4]) + tilt);
    varianceY.push(toFloat(pose.covariance[8]) + tilt);
  }
  return { x, y, varianceX, varianceY };
}

/** Widths of parts that keep their limits: never wider than what is assumed of them. */
function partsInOrder(layout: Layout, widths: Widths, questions: readonly MeasureQuestion[]): Widths {
  let bendMm = toFloat(SHOP_LIMIT_MM);
  for (const question of questions) {
    if (question.what === 'bend') {
      bendMm = Math.min(bendMm, Math.max(Math.abs(question.lowerMm), Math.abs(question.upperMm)));
    }
  }
  let radius = toFloat(1);
  for (const spindle of layout.spindles) radius = Math.max(radius, spindle.tipRadiusMm);
  const half = bendMm / 2 / IN_ORDER;
  return {
    ...widths,
    bendMm: Math.min(widths.bendMm, half),
    shaftMm: Math.min(widths.shaftMm, half),
    spindleHeightMm: Math.min(widths.spindleHeightMm, SHOP_LIMIT_MM / IN_ORDER),
    spindleTiltRad: Math.min(widths.spindleTiltRad, SHOP_LIMIT_MM / IN_ORDER / (2 * radius)),
  };
}

/** `sized`: the part whose whole fault is asked for, not only what goes beyond a part in order. */
function viewOf(
  model: TipModel,
  slopes: Slopes,
  found: readonly Candidate[],
  sized?: Candidate,
): View | undefined {
  const count = model.readings.length;
  const full = readingCovariance(model, slopes);
  const columns = designColumns(model);
  const own = sized === undefined ? [] : unknownsOf(model, sized);
  for (let j = PLANE; j < model.size; j++) {
    if (!isAmong(own, j)) addOuter(full, columns[j], toFloat(1));
  }
  for (const candidate of found) {
    if (candidate.relabelled === undefined) {
      const size = slabMm(candidate);
      for (const column of columnsOf(model, candidate)) addOuter(full, column, size * size);
    }
  }
  const lower = cholesky(full);
  if (lower === undefined) return undefined;
  const plane: number[][] = [];
  let logEvidence = logWhitening(lower);
  for (let j = 0; j < PLANE; j++) {
    const column = project(plane, whiten(lower, columns[j], 0));
    const length = Math.sqrt(covariance(column, column));
    if (!(length > 0)) return undefined;
    logEvidence -= logarithm(length);
    for (let i = 0; i < count; i++) column[i] = column[i] / length;
    plane.push(column);
  }
  const observed = project(plane, whiten(lower, model.observedMm, 0));
  logEvidence -= covariance(observed, observed) / 2;
  return { model, lower, plane, observed, logEvidence };
}

function addOuter(lower: number[][], column: readonly number[], variance: number): void {
  for (let i = 0; i < column.length; i++) {
    const row = lower[i];
    const pull = variance * column[i];
    if (pull !== 0) for (let j = 0; j <= i; j++) row[j] = row[j] + pull * column[j];
  }
}

/** Takes the directions of the plane out of a whitened vector, which is overwritten; twice, so that rounding stays out. */
function project(plane: readonly (readonly number[])[], vector: number[]): number[] {
  for (let pass = 0; pass < 2; pass++) {
    for (const direction of plane) {
      const along = covariance(direction, vector);
      for (let i = 0; i < vector.length; i++) vector[i] = vector[i] - along * direction[i];
    }
  }
  return vector;
}

function slabMm(candidate: Candidate): number {
  return FAULT_IN_LIMITS * toFloat(candidate.limitMm > 0 ? candidate.limitMm : SHOP_LIMIT_MM);
}

/** Evidence and size of one explanation; a fault of one direction has an empty second column. */
function scoreOf(view: View, candidate: Candidate): Score {
  const [one, two] = columnsOf(view.model, candidate);
  const a = project(view.plane, whiten(view.lower, one, 0));
  const b = project(view.plane, whiten(view.lower, two, 0));
  const slab = slabMm(candidate);
  const prior = 1 / (slab * slab);
  const s11 = covariance(a, a) + prior;
  const s12 = covariance(a, b);
  const s22 = covariance(b, b) + prior;
  const u1 = covariance(a, view.observed);
  const u2 = covariance(b, view.observed);
  const determinant = s11 * s22 - s12 * s12;
  const mean1 = (s22 * u1 - s12 * u2) / determinant;
  const mean2 = (s11 * u2 - s12 * u1) / determinant;
  const alone = s11 - prior;
  return {
    candidate,
    logBayes: (u1 * mean1 + u2 * mean2 - logarithm(determinant / (prior * prior))) / 2,
    mean: [mean1, mean2],
    covariance: [s22 / determinant, (0 - s12) / determinant, s11 / determinant],
    limitMm:
      candidate.limitMm > 0 || !(alone > 0) ? toFloat(candidate.limitMm) : QUESTION_SIGMAS / Math.sqrt(alone),
  };
}

/** Tries other labels for every clamping with a reading that stands out. */
function addRelabellings(
  scores: Score[],
  view: View,
  seeing: (labelled: readonly TipReading[]) => View | undefined,
): void {
  const { layout, readings } = view.model;
  for (const clamping of clampings(readings)) {
    let standsOut = false;
    for (const { candidate, logBayes } of scores) {
      const { kind } = candidate;
      const inside = kind === 'one bad reading' && isAmong(clamping, candidate.readings[0]);
      if (inside && logBayes > WORTH_TRYING) standsOut = true;
    }
    if (standsOut) {
      for (const { at, relabelled } of relabellings(layout, readings, clamping)) {
        const other = seeing(relabelled);
        if (other !== undefined) {
          const candidate: Candidate = {
            kind: 'wrong heading or wrong tip',
            spindle: readings[clamping[0]].spindle,
            readings: at,
            limitMm: toFloat(0),
            limitOf: '',
            relabelled,
          };
          scores.push({ ...scoreOf(view, candidate), logBayes: other.logEvidence - view.logEvidence });
        }
      }
    }
  }
}

function weightOf(score: Score): number {
  return score.logBayes + logarithm(toFloat(PRIOR_ODDS[score.candidate.kind]));
}

/** Logarithm of the sum of all weights, the machine without a fault counting 1. */
function logSum(scores: readonly Score[]): number {
  let most = toFloat(0);
  for (const score of scores) most = Math.max(most, weightOf(score));
  let sum = exponential(0 - most);
  for (const score of scores) sum += exponential(weightOf(score) - most);
  return most + logarithm(sum);
}

/** The likeliest explanation and those that are not told apart from it, likeliest first. */
function likeliest(scores: readonly Score[]): Score[] {
  const group: Score[] = [];
  const taken: boolean[] = [];
  for (let i = 0; i < scores.length; i++) taken.push(false);
  for (;;) {
    let best = -1;
    for (let i = 0; i < scores.length; i++) {
      if (!taken[i] && (best < 0 || weightOf(scores[i]) > weightOf(scores[best]))) best = i;
    }
    if (best < 0) return group;
    if (group.length > 0 && weightOf(scores[best]) < weightOf(group[0]) - logarithm(toFloat(TOLD_APART))) {
      return group;
    }
    taken[best] = true;
    group.push(scores[best]);
  }
}

function leadersBut(groups: readonly (readonly Score[])[], left: number): Candidate[] {
  const leaders: Candidate[] = [];
  for (let g = 0; g < groups.length; g++) if (g !== left) leaders.push(groups[g][0].candidate);
  return leaders;
}

/** The readings with the labels that the last relabelling among the faults gives them. */
function labelledBy(leaders: readonly Candidate[], readings: readonly TipReading[]): readonly TipReading[] {
  let labelled = readings;
  for (const leader of leaders) if (leader.relabelled !== undefined) labelled = leader.relabelled;
  return labelled;
}

function isIn(groups: readonly (readonly Score[])[], candidate: Candidate): boolean {
  for (const group of groups) for (const score of group) if (same(score.candidate, candidate)) return true;
  return false;
}

function same(a: Candidate, b: Candidate): boolean {
  return (
    a.kind === b.kind &&
    a.spindle === b.spindle &&
    a.readings.length === b.readings.length &&
    a.readings[0] === b.readings[0]
  );
}

function isAmong(list: readonly number[], value: number): boolean {
  for (const item of list) if (item === value) return true;
  return false;
}

function explanationOf(score: Score, probability: number): Explanation {
  const { candidate, mean, limitMm } = score;
  const [c11, c12, c22] = score.covariance;
  const { kind, spindle, readings, limitOf } = candidate;
  const tilted = kind === 'spindle tilted';
  const size = tilted ? Math.sqrt(mean[0] * mean[0] + mean[1] * mean[1]) : mean[0];
  const along = mean[0] * mean[0] * c11 + 2 * mean[0] * mean[1] * c12 + mean[1] * mean[1] * c22;
  const standardUncertaintyMm = Math.sqrt(tilted && size > 0 ? along / (size * size) : c11);
  return {
    kind,
    spindle,
    readings,
    sizeMm: size,
    standardUncertaintyMm,
    riseForwardMm: tilted ? mean[0] : toFloat(0),
    riseLeftMm: tilted ? mean[1] : toFloat(0),
    limitMm,
    limitOf,
    probability,
    beyondLimit:
      normalBelow((size - limitMm) / standardUncertaintyMm) +
      normalBelow((0 - size - limitMm) / standardUncertaintyMm),
  };
}

/** Faults of parts whose weakest direction, at twice the limit, the readings would hardly notice. */
function hiddenIn(view: View, questions: readonly MeasureQuestion[]): Faults['hidden'] {
  const hidden: { kind: FaultKind; spindle: number }[] = [];
  for (const candidate of candidatesOf(view.model, questions)) {
    const { kind, spindle } = candidate;
    if (kind !== 'floor' && kind !== 'one bad reading') {
      const [one, two] = columnsOf(view.model, candidate);
      const a = project(view.plane, whiten(view.lower, one, 0));
      const b = project(view.plane, whiten(view.lower, two, 0));
      const aa = covariance(a, a);
      const bb = covariance(b, b);
      const ab = covariance(a, b);
      const gap = Math.sqrt(((aa - bb) * (aa - bb)) / 4 + ab * ab);
      const weakest = kind === 'spindle tilted' ? (aa + bb) / 2 - gap : aa;
      const size = 2 * toFloat(candidate.limitMm);
      if (!(weakest * size * size >= SHOWS * SHOWS)) hidden.push({ kind, spindle });
    }
  }
  return hidden;
}
