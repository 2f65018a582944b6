/** What to turn: the continuous answer, checked through the statics of the hung deck. */
import { absorb, mean, priorInformation, solve } from './engine';
import type { Layout, MeasureQuestion, Point } from './layout';
import { normalQuantile } from './normal';
import { cosSinDeg, toFloat, zeros } from './number';
import { probabilityOutside } from './result';
import type { MeasureResult, Solution } from './solve-tips';
import { restDeck, type Support } from './statics';

export interface Adjuster {
  /** What one turn in the raising sense does: a pair or a bell-crank moves several hangers. */
  readonly moves: readonly { readonly hanger: number; readonly mmPerTurn: number }[];
  /** Relative standard uncertainty of mmPerTurn. */
  readonly ratioUncertainty: number;
  /** Turns left for lowering (negative or zero) and for raising. */
  readonly travelTurns: readonly [number, number];
}

export interface Hanging {
  readonly hangers: readonly Support[];
  /** Where the hung deck's weight acts. */
  readonly centreOfGravity: Point;
  readonly adjusters: readonly Adjuster[];
}

export interface Turning {
  /** Per adjuster, positive in the raising sense. */
  readonly turns: readonly number[];
  /** Per adjuster: the greatest rise (or, if negative, drop) among the hangers that it moves. */
  readonly raiseMm: readonly number[];
  /** Per adjuster: true when it works a hanger that was felt slack: first take that up by feel, then count turns. */
  readonly takeUpFirst: readonly boolean[];
  /** Per adjuster: true where the answer stops at the end of its travel. */
  readonly atTravelEnd: readonly boolean[];
  /** Measures after the turning, ratio uncertainty included. */
  readonly after: readonly MeasureResult[];
  /** Lower bound for all determined measures together, averaged over the ratio errors through the statics. */
  readonly jointProbability: number;
  /** Per hanger, for nominal ratios. */
  readonly carryingAfter: readonly boolean[];
  readonly slackAfterMm: readonly number[];
  /** What stops the targets: 'travel', 'too few adjusters', 'bend NAME', 'not determined NAME', 'out of reach NAME'. */
  readonly limitedBy: readonly string[];
}

/** A hanger this little below the deck still carries on its elasticity (common practice, no source). */
const CARRYING_SLACK_MM = 0.05;
/** Weight of "all hangers just carrying" against the aim at the targets: tolerance of a hanger's height. */
const HANGER_TOLERANCE_MM = 0.01;
/** The least turning is preferred as weakly as a prior of this width says: it decides only what nothing else decides. */
const IDLE_TURNS = 1e4;
/** Points at which the ratio errors are tried out. */
const RATIO_SAMPLES = 128;
/** A target is reached when missed by less than this share of the room to the nearer limit. */
const REACHED_SHARE = 0.01;

/** Change of each measure of tips per mm, slope forward and slope sideways of the deck; undefined for a bend. */
export type Response = readonly [number, number, number];

/**
 * Aims the determined measures of tips at their targets, each counted in half-widths of its limits, with every hanger just
 * carrying and no adjuster beyond its travel; among equal answers the least turning. `carrying` says what the technician
 * felt before turning: a slack hanger's height is not known, so it is to be taken up by feel first, and the counted turns
 * start there. The result's measures come from where the deck then rests. Undefined when the centre of gravity lies outside
 * the hangers' outline.
 */
export function whatToTurn(
  solution: Pick<Solution, 'layout' | 'measures'>,
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  carrying: readonly boolean[],
): Turning | undefined {
  const responses: Response[] = [];
  for (const question of questions) responses.push(responseOf(solution.layout, question));
  const aim = aimingEquations(solution, hanging, questions, responses);
  const { turns, atTravelEnd } = withinTravel(aim, hanging.adjusters);
  return outcome(solution, hanging, questions, responses, carrying, turns, atTravelEnd);
}

/** What comes of given turns. Undefined when the deck would tip. */
export function outcome(
  solution: Pick<Solution, 'layout' | 'measures'>,
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  responses: readonly Response[],
  carrying: readonly boolean[],
  turns: readonly number[],
  atTravelEnd: readonly boolean[],
): Turning | undefined {
  const rest = restDeck(hanging.hangers, hangerRises(hanging, turns), hanging.centreOfGravity);
  if (rest === undefined) return undefined;
  const shift = shiftsOf(responses, rest.z0Mm, rest.slopeX, rest.slopeY);
  const tried = tryRatios(solution, hanging, questions, responses, turns, shift);
  const after: MeasureResult[] = [];
  for (let i = 0; i < questions.length; i++) {
    const before = solution.measures[i];
    if (!before.determined) after.push(before);
    else {
      const variance = before.standardUncertaintyMm * before.standardUncertaintyMm + tried.variance[i];
      after.push({
        name: before.name,
        determined: true,
        valueMm: before.valueMm + shift[i],
        standardUncertaintyMm: Math.sqrt(variance),
      });
    }
  }
  const carryingAfter: boolean[] = [];
  for (const slack of rest.slackMm) carryingAfter.push(slack <= CARRYING_SLACK_MM);
  const raiseMm: number[] = [];
  const takeUpFirst: boolean[] = [];
  for (let j = 0; j < turns.length; j++) {
    raiseMm.push(greatestMove(hanging.adjusters[j], turns[j]));
    takeUpFirst.push(movesSlack(hanging.adjusters[j], carrying));
  }
  return {
    turns,
    raiseMm,
    takeUpFirst,
    atTravelEnd,
    after,
    jointProbability: tried.jointProbability,
    carryingAfter,
    slackAfterMm: rest.slackMm,
    limitedBy: whatStops(questions, after, atTravelEnd),
  };
}

export function responseOf(layout: Layout, question: MeasureQuestion): Response {
  let weight = toFloat(0);
  let x = toFloat(0);
  let y = toFloat(0);
  if (question.what === 'tips') {
    for (const term of question.terms) {
      const spindle = layout.spindles[term.spindle];
      const { cos, sin } = cosSinDeg(term.headingDeg);
      weight += term.weight;
      x += term.weight * (spindle.xMm + spindle.tipRadiusMm * cos);
      y += term.weight * (spindle.yMm + spindle.tipRadiusMm * sin);
    }
  }
  return [weight, x, y];
}

export function shiftsOf(
  responses: readonly Response[],
  height: number,
  slopeX: number,
  slopeY: number,
): number[] {
  const shifts: number[] = [];
  for (const [weight, x, y] of responses) shifts.push(weight * height + x * slopeX + y * slopeY);
  return shifts;
}

/** Rise of every hanger for given turns. */
export function hangerRises(hanging: Hanging, turns: readonly number[]): number[] {
  const rises = zeros(hanging.hangers.length);
  for (let j = 0; j < turns.length; j++) {
    for (const move of hanging.adjusters[j].moves) {
      rises[move.hanger] = rises[move.hanger] + move.mmPerTurn * turns[j];
    }
  }
  return rises;
}

/** Least squares in (height, slope forward, slope sideways, turns): rows as coefficients, each with its wanted value. */
export interface Aim {
  readonly rows: readonly (readonly number[])[];
  readonly wanted: readonly number[];
}

export function aimingEquations(
  solution: Pick<Solution, 'measures'>,
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  responses: readonly Response[],
): Aim {
  const size = 3 + hanging.adjusters.length;
  const rows: number[][] = [];
  const wanted: number[] = [];
  for (let i = 0; i < questions.length; i++) {
    const question = questions[i];
    const measure = solution.measures[i];
    const halfWidthMm = (toFloat(question.upperMm) - question.lowerMm) / 2;
    if (question.what === 'tips' && measure.determined) {
      const row = zeros(size);
      for (let k = 0; k < 3; k++) row[k] = responses[i][k] / halfWidthMm;
      rows.push(row);
      wanted.push((question.targetMm - measure.valueMm) / halfWidthMm);
    }
  }
  for (let h = 0; h < hanging.hangers.length; h++) {
    const row = zeros(size);
    row[0] = 1 / HANGER_TOLERANCE_MM;
    row[1] = hanging.hangers[h].xMm / HANGER_TOLERANCE_MM;
    row[2] = hanging.hangers[h].yMm / HANGER_TOLERANCE_MM;
    for (let j = 0; j < hanging.adjusters.length; j++) {
      for (const move of hanging.adjusters[j].moves) {
        if (move.hanger === h) row[3 + j] = row[3 + j] - move.mmPerTurn / HANGER_TOLERANCE_MM;
      }
    }
    rows.push(row);
    wanted.push(toFloat(0));
  }
  return { rows, wanted };
}

/** Solves the aim with every adjuster inside its travel: active-set method for bounds, from no turning at all. */
export function withinTravel(
  aim: Aim,
  adjusters: readonly Adjuster[],
): { turns: number[]; atTravelEnd: boolean[] } {
  const count = adjusters.length;
  const turns = zeros(count);
  const held: boolean[] = [];
  for (let j = 0; j < count; j++) held.push(false);
  // Each pass holds or releases one adjuster; the cap only guards against rounding at a tie.
  for (let pass = 0; pass < 8 * count + 8; pass++) {
    const { unknowns, pull } = solveAim(aim, turns, held);
    let step = toFloat(1);
    let stopping = -1;
    for (let j = 0; j < count; j++) {
      const way = unknowns[3 + j] - turns[j];
      const end = way > 0 ? adjusters[j].travelTurns[1] : adjusters[j].travelTurns[0];
      if (!held[j] && way !== 0 && (end - turns[j]) / way < step) {
        step = Math.max(0, (end - turns[j]) / way);
        stopping = j;
      }
    }
    for (let j = 0; j < count; j++) if (!held[j]) turns[j] = turns[j] + step * (unknowns[3 + j] - turns[j]);
    if (stopping >= 0) {
      const way = unknowns[3 + stopping] - turns[stopping];
      turns[stopping] = toFloat(adjusters[stopping].travelTurns[way > 0 ? 1 : 0]);
      held[stopping] = true;
    } else {
      const release = wrongWay(turns, held, pull, adjusters);
      if (release < 0) break;
      held[release] = false;
    }
  }
  return { turns, atTravelEnd: held };
}

/** The held adjuster that the aim pulls back inside most, -1 for none. */
function wrongWay(
  turns: readonly number[],
  held: readonly boolean[],
  pull: readonly number[],
  adjusters: readonly Adjuster[],
): number {
  let best = -1;
  let strongest = 1e-9;
  for (let j = 0; j < turns.length; j++) {
    const [low, high] = adjusters[j].travelTurns;
    const inward = turns[j] === high && turns[j] !== low ? 0 - pull[j] : pull[j];
    if (held[j] && low < high && inward > strongest) {
      strongest = inward;
      best = j;
    }
  }
  return best;
}

/** The aim's optimum with the held adjusters fixed, and which way the aim would pull each adjuster there. */
function solveAim(
  aim: Aim,
  turns: readonly number[],
  held: readonly boolean[],
): { unknowns: number[]; pull: number[] } {
  const size = 3 + turns.length;
  const columns: number[][] = [];
  for (let k = 0; k < size; k++) {
    const column: number[] = [];
    const fixed = k >= 3 && held[k - 3];
    for (const row of aim.rows) column.push(fixed ? toFloat(0) : row[k]);
    columns.push(column);
  }
  const observed: number[] = [];
  for (let r = 0; r < aim.rows.length; r++) {
    let rest = aim.wanted[r];
    for (let j = 0; j < turns.length; j++) if (held[j]) rest -= aim.rows[r][3 + j] * turns[j];
    observed.push(rest);
  }
  const deviations = zeros(size);
  const means = zeros(size);
  for (let k = 0; k < size; k++) {
    // The plane needs no prior: the hangers hold it.
    deviations[k] = k < 3 ? Infinity : toFloat(IDLE_TURNS);
    if (k >= 3 && held[k - 3]) means[k] = turns[k - 3]!;
  }
  const estimate = solve(
    absorb(priorInformation(means, deviations), { columns, observed, logScale: toFloat(0) }),
  );
  const unknowns = mean(estimate) ?? means;
  for (let j = 0; j < turns.length; j++) if (held[j]) unknowns[3 + j] = turns[j]!;
  const pull = zeros(turns.length);
  for (let r = 0; r < aim.rows.length; r++) {
    let miss = aim.wanted[r];
    for (let k = 0; k < size; k++) miss -= aim.rows[r][k] * unknowns[k];
    for (let j = 0; j < turns.length; j++) pull[j] = pull[j] + aim.rows[r][3 + j] * miss;
  }
  return { unknowns, pull };
}

/**
 * Puts errors on the ratios and lets the deck rest each time: a hanger that comes out low goes slack and one that comes
 * out high lifts the deck off its neighbours, which no linear rule describes. The errors are a fixed low-discrepancy set
 * (Halton), so the answer is the same every time. Gives the mean square of the measures' departures from the nominal
 * answer, and the mean joint probability.
 */
function tryRatios(
  solution: Pick<Solution, 'measures'>,
  hanging: Hanging,
  questions: readonly MeasureQuestion[],
  responses: readonly Response[],
  turns: readonly number[],
  nominal: readonly number[],
): { variance: number[]; jointProbability: number } {
  const variance = zeros(questions.length);
  let jointProbability = toFloat(0);
  const actual = zeros(turns.length);
  for (let sample = 1; sample <= RATIO_SAMPLES; sample++) {
    for (let j = 0; j < turns.length; j++) {
      const error = normalQuantile(halton(sample, j)) * hanging.adjusters[j].ratioUncertainty;
      actual[j] = turns[j] * (1 + error);
    }
    const rest = restDeck(hanging.hangers, hangerRises(hanging, actual), hanging.centreOfGravity);
    if (rest !== undefined) {
      const shift = shiftsOf(responses, rest.z0Mm, rest.slopeX, rest.slopeY);
      let outside = toFloat(0);
      for (let i = 0; i < questions.length; i++) {
        const before = solution.measures[i];
        const departure = shift[i] - nominal[i];
        variance[i] = variance[i] + (departure * departure) / RATIO_SAMPLES;
        if (before.determined) {
          outside += probabilityOutside(
            before.valueMm + shift[i],
            before.standardUncertaintyMm,
            questions[i],
          );
        }
      }
      if (outside < 1) jointProbability += (1 - outside) / RATIO_SAMPLES;
    }
  }
  return { variance, jointProbability };
}

const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19];

/** Number `index` of the Halton sequence in one dimension: the digits of the index in a prime base, mirrored. */
export function halton(index: number, dimension: number): number {
  const base = PRIMES[dimension];
  let value = toFloat(0);
  let digit = toFloat(1);
  let rest = index;
  while (rest > 0) {
    const next = Math.floor(rest / base);
    digit /= base;
    value += (rest - next * base) * digit;
    rest = next;
  }
  return value;
}

function greatestMove(adjuster: Adjuster, turns: number): number {
  let greatest = toFloat(0);
  for (const move of adjuster.moves) {
    const rise = move.mmPerTurn * turns;
    if (Math.abs(rise) > Math.abs(greatest)) greatest = rise;
  }
  return greatest;
}

function movesSlack(adjuster: Adjuster, carrying: readonly boolean[]): boolean {
  for (const move of adjuster.moves) if (carrying[move.hanger] === false) return true;
  return false;
}

function whatStops(
  questions: readonly MeasureQuestion[],
  after: readonly MeasureResult[],
  atTravelEnd: readonly boolean[],
): string[] {
  const stops: string[] = [];
  let missed = false;
  for (let i = 0; i < questions.length; i++) {
    const question = questions[i];
    const measure = after[i];
    if (!measure.determined) stops.push('not determined ' + question.name);
    else if (question.what === 'bend') {
      if (measure.valueMm < question.lowerMm || measure.valueMm > question.upperMm)
        stops.push('bend ' + question.name);
    } else {
      const room = Math.min(question.upperMm - question.targetMm, question.targetMm - question.lowerMm);
      if (Math.abs(measure.valueMm - question.targetMm) > REACHED_SHARE * room) {
        missed = true;
        if (measure.valueMm < question.lowerMm || measure.valueMm > question.upperMm) {
          stops.push('out of reach ' + question.name);
        }
      }
    }
  }
  let stopped = false;
  for (const end of atTravelEnd) if (end) stopped = true;
  if (missed) stops.push(stopped ? 'travel' : 'too few adjusters');
  return stops;
}
