/**
 * The error budget: what each source of error adds to each measure of a machine, when its own sequence of readings is
 * solved by the tool's own solver, and what can then be decided.
 *
 * The variance of a measure is a function of the model's widths. The solver's estimate is the one of least variance, so a
 * small change of a width does not act through the estimate (envelope theorem), and the share of a width s in the variance
 * V is (s / 2) dV/ds: exact, and the shares add up to V, as V is of first degree in the squares of all widths. Only the
 * heading's term is not quite of that degree; the difference is reported.
 */
import {
  absorb,
  functional,
  judge,
  mean,
  noInformation,
  normalQuantile,
  solve,
  solveTips,
  type Layout,
  type MeasureQuestion,
  type Point,
  type TipReading,
  type Widths,
} from '../../protocol/solver';
import { ACCEPT_JOINT_PROBABILITY } from '../../protocol/solver/result';
import { ASSUMED_WIDTHS, widthValues, type WidthName } from './widths';
import type { ErrorSource } from './error-sources';

/** A machine with the readings of one sequence and its measures with their limits. */
export interface BudgetCase {
  readonly layout: Layout;
  readonly readings: readonly TipReading[];
  readonly questions: readonly MeasureQuestion[];
  /** Height from which the fixture's gain counts. */
  readonly heightReferenceMm: number;
}

export interface Contribution extends ErrorSource {
  /** Standard uncertainty that the source adds to each measure, in the order of the questions. */
  readonly perMeasureMm: readonly number[];
}

export interface MeasureBudget {
  readonly name: string;
  readonly standardUncertaintyMm: number;
  /** k = 2. */
  readonly expandedMm: number;
  /** Half of the span between the limits over U: ANSI/NCSL Z540.3, span of the tolerance over twice the 95 % uncertainty. */
  readonly testUncertaintyRatio: number;
  /** Half of the span between the tightest limits about the target that this uncertainty still decides, alone. */
  readonly tightestMm: number;
  /** Probability that this measure alone is accepted when it is exactly on target. */
  readonly acceptsCentred: number;
}

export interface ErrorBudget {
  readonly contributions: readonly Contribution[];
  readonly measures: readonly MeasureBudget[];
  /** Probability that all measures together are accepted when all are exactly on target. */
  readonly acceptsCentred: number;
  /** What the sources add up to in each width: compares with what the tool assumes. */
  readonly widths: Readonly<Record<WidthName, number>>;
  /** Greatest difference between the sum of the contributions' squares and the variance, as a share of it. */
  readonly unexplained: number;
}

/** A measure or a machine counts as decidable when a centred one is accepted with this probability. */
export const DECIDING_PROBABILITY = 0.9;

/**
 * Limits of so many u about the target are just decided: nine tenths of the estimates lie within 1.645 u, and there the
 * chance of being outside is 2 % when the limit is 2.054 u farther out (the far limit adds less than 1e-6).
 */
const DECIDES = normalQuantile((1 + DECIDING_PROBABILITY) / 2) + normalQuantile(ACCEPT_JOINT_PROBABILITY);

/** Change of a width for the derivative, relative to it. */
const STEP = 1e-4;
/** Points of the even sequence that the probability of acceptance is counted over. */
const POINTS = 4096;

/**
 * Computes the budget. Throws when a measure is not determined by the readings: a sequence that leaves one open has no
 * budget.
 */
export function errorBudget(at: BudgetCase, sources: readonly ErrorSource[]): ErrorBudget {
  const combined = (entersAs: ErrorSource['entersAs']) =>
    Math.sqrt(sources.filter((s) => s.entersAs === entersAs).reduce((sum, s) => sum + s.value * s.value, 0));
  const names = Object.keys(ASSUMED_WIDTHS) as WidthName[];
  const widths = Object.fromEntries(
    names.map((name) => [name, name === 'floorLengthMm' ? ASSUMED_WIDTHS[name].value : combined(name)]),
  ) as Record<WidthName, number>;
  const noiseMm = combined('noise');
  const covariance = covarianceOf(at, widths, noiseMm);
  const count = at.questions.length;
  const variances = at.questions.map((_, i) => covariance[i * count + i] ?? 0);

  const shares = new Map<ErrorSource['entersAs'], number[]>();
  for (const entersAs of new Set(sources.map((s) => s.entersAs))) {
    const shifted = (factor: number) =>
      entersAs === 'noise'
        ? covarianceOf(at, widths, noiseMm * factor)
        : covarianceOf(at, { ...widths, [entersAs]: widths[entersAs] * factor }, noiseMm);
    const above = shifted(1 + STEP);
    const below = shifted(1 - STEP);
    shares.set(
      entersAs,
      variances.map((_, i) => ((above[i * count + i] ?? 0) - (below[i * count + i] ?? 0)) / (4 * STEP)),
    );
  }
  const contributions = sources.map((source): Contribution => {
    const part = (source.value / combined(source.entersAs)) ** 2;
    const perMeasureMm = (shares.get(source.entersAs) ?? []).map((share) =>
      // Rounding may leave less than nothing of a width that does not act on a measure.
      source.value === 0 ? 0 : Math.sqrt(Math.max(0, share * part)),
    );
    return { ...source, perMeasureMm };
  });
  const unexplained = variances.map((variance, i) =>
    Math.abs(contributions.reduce((sum, c) => sum + (c.perMeasureMm[i] ?? 0) ** 2, 0) / variance - 1),
  );
  return {
    contributions,
    measures: at.questions.map((question, i) => measureBudget(question, variances[i] ?? 0)),
    acceptsCentred: acceptsCentred(at.questions, covariance),
    widths,
    unexplained: Math.max(...unexplained),
  };
}

function measureBudget(question: MeasureQuestion, variance: number): MeasureBudget {
  const standardUncertaintyMm = Math.sqrt(variance);
  const expandedMm = 2 * standardUncertaintyMm;
  return {
    name: question.name,
    standardUncertaintyMm,
    expandedMm,
    testUncertaintyRatio: (question.upperMm - question.lowerMm) / 2 / expandedMm,
    tightestMm: DECIDES * standardUncertaintyMm,
    acceptsCentred: acceptsCentred([question], [variance]),
  };
}

/** Joint covariance of the measures, by rows. */
function covarianceOf(at: BudgetCase, widths: Record<WidthName, number>, noiseMm: number): readonly number[] {
  const given: Widths = { ...widthValues(at.heightReferenceMm), ...widths };
  const readings = at.readings.map((reading) => ({ ...reading, standardErrorMm: noiseMm }));
  const solution = solveTips(at.layout, readings, given, at.questions);
  const open = solution.measures.filter((m) => !m.determined).map((m) => m.name);
  if (open.length > 0) throw new Error(`these readings do not determine ${open.join(', ')}`);
  return solution.measureCovariance;
}

/**
 * Probability that `judge` accepts when every measure is exactly on target and its estimate scatters about it with the
 * covariance given. Counted over an even sequence of points (multiples of powers of the inverse of the root of
 * x^(d+1) = x + 1, after M. Roberts, 2018), so the answer is the same every time.
 */
export function acceptsCentred(questions: readonly MeasureQuestion[], covariance: readonly number[]): number {
  const count = questions.length;
  const root = lowerRoot(covariance, count);
  let ratio = 2;
  for (let round = 0; round < 60; round++) ratio = (1 + ratio) ** (1 / (count + 1));
  let accepted = 0;
  for (let point = 1; point <= POINTS; point++) {
    const normals = questions.map((_, i) => normalQuantile((0.5 + point / ratio ** (i + 1)) % 1));
    const measures = questions.map((question, i) => ({
      name: question.name,
      determined: true as const,
      valueMm: normals.reduce((sum, z, j) => sum + (root[i * count + j] ?? 0) * z, question.targetMm),
      standardUncertaintyMm: Math.sqrt(covariance[i * count + i] ?? 0),
    }));
    if (judge({ measures }, questions).decision === 'pass') accepted += 1;
  }
  return accepted / POINTS;
}

/** Cholesky: a lower triangle whose product with its transpose is the matrix; a measure that follows from others gets a 0. */
function lowerRoot(matrix: readonly number[], size: number): number[] {
  const root = new Array<number>(size * size).fill(0);
  const at = (i: number, j: number) => root[i * size + j] ?? 0;
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let rest = matrix[i * size + j] ?? 0;
      for (let k = 0; k < j; k++) rest -= at(i, k) * at(j, k);
      if (i === j) root[i * size + i] = Math.sqrt(Math.max(0, rest));
      else root[i * size + j] = at(j, j) > 0 ? rest / at(j, j) : 0;
    }
  }
  return root;
}

/** Readings of these tips on a machine whose tips measures are all on target, as nearly as one plane can have them. */
export function readingsOnTarget(
  layout: Layout,
  questions: readonly MeasureQuestion[],
  tips: readonly Pick<TipReading, 'spindle' | 'headingDeg' | 'end'>[],
): TipReading[] {
  const plane = mean(solve(absorb(noInformation(3), targetRows(layout, questions))));
  if (plane === undefined) throw new Error('level, rake and height together do not fix a plane');
  let placement = 0;
  return tips.map((tip, i): TipReading => {
    const before = tips[i - 1];
    // The fixture is clamped anew for another blade and for the other end of one.
    if (before?.spindle !== tip.spindle || before.end !== tip.end) placement += 1;
    const terms = alongPlane(layout, tip.spindle, tip.headingDeg);
    return {
      ...tip,
      refitted: false,
      seating: 1,
      placement,
      heightMm: terms.reduce((sum, term, j) => sum + term * (plane[j] ?? 0), 0),
      standardErrorMm: 0,
    };
  });
}

function targetRows(layout: Layout, questions: readonly MeasureQuestion[]) {
  const rows = questions.flatMap((question) =>
    question.what !== 'tips'
      ? []
      : [
          {
            targetMm: question.targetMm,
            terms: [0, 1, 2].map((j) =>
              question.terms.reduce(
                (sum, t) => sum + t.weight * (alongPlane(layout, t.spindle, t.headingDeg)[j] ?? 0),
                0,
              ),
            ),
          },
        ],
  );
  return {
    columns: [0, 1, 2].map((j) => rows.map((row) => row.terms[j] ?? 0)),
    observed: rows.map((row) => row.targetMm),
    logScale: 0,
  };
}

/** What height at the origin and slopes (forward, to the left) are multiplied by in the height of a tip. */
function alongPlane(layout: Layout, spindle: number, headingDeg: number): [number, number, number] {
  const tip = tipPlace(layout, spindle, headingDeg);
  return [1, tip.xMm, tip.yMm];
}

function tipPlace(layout: Layout, spindle: number, headingDeg: number): Point {
  const at = layout.spindles[spindle];
  if (at === undefined) throw new Error(`no spindle ${spindle}`);
  const heading = (headingDeg * Math.PI) / 180;
  return {
    xMm: at.xMm + at.tipRadiusMm * Math.cos(heading),
    yMm: at.yMm + at.tipRadiusMm * Math.sin(heading),
  };
}

/**
 * How much of a weight at a tip a rigid deck on equal springs at its hangers yields there: v S^-1 v with v = (1, x, y) and S
 * the sum of (1, x, y)(1, x, y)^T over the hangers. Times force over the stiffness of one hanger: a distance.
 */
export function loadShare(
  layout: Layout,
  hangers: readonly Point[],
  tip: Pick<TipReading, 'spindle' | 'headingDeg'>,
): number {
  const estimate = solve(
    absorb(noInformation(3), {
      columns: [hangers.map(() => 1), hangers.map((h) => h.xMm), hangers.map((h) => h.yMm)],
      observed: hangers.map(() => 0),
      logScale: 0,
    }),
  );
  const answer = functional(estimate, alongPlane(layout, tip.spindle, tip.headingDeg));
  if (!answer.determined) throw new Error('the hangers stand in one line');
  return answer.variance;
}
