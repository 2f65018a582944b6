/**
 * Gauge study by analysis of variance: what parts, operators, their interaction and repetition each add to the spread.
 * Parts and operators count as drawn at random. Formulas: any textbook on variance components, balanced data; usual
 * quantities of a gauge study after the MSA reference manual, 4th edition.
 */
import { fisherAbove } from '../../../protocol/solver';
import { numberedError } from '../../errors/errors';
import { meanOf } from '../statistics/spread';
import { combined, interval, type MeanSquare, type Weighted } from './mean-squares';
import { studyTable, type StudyReading, type StudyTable } from './readings';

export interface StudyOptions {
  /** Whole width of the tolerance. */
  readonly tolerance?: number;
  /** Standard deviations that count as the whole spread: 6, or 5.15 in older studies. */
  readonly multiplier?: number;
  readonly confidence?: number;
  /** `test`: kept when significant at `alpha`. */
  readonly interaction?: 'test' | 'keep' | 'pool';
  readonly alpha?: number;
  /** Parts of one name are different things for different operators. */
  readonly nested?: boolean;
}

export interface AnovaRow extends MeanSquare {
  readonly source: 'part' | 'operator' | 'part in operator' | 'interaction' | 'repeatability' | 'total';
  readonly sumOfSquares: number;
  readonly F?: number;
  readonly p?: number;
}

export type ComponentName =
  'repeatability' | 'operator' | 'interaction' | 'reproducibility' | 'gauge' | 'part' | 'total';

export interface Component {
  readonly name: ComponentName;
  /** Not below 0. */
  readonly variance: number;
  /** As it came out of the mean squares, where that was below 0. */
  readonly negative?: number;
  /** Of the variance, at the confidence of the study. */
  readonly interval: readonly [number, number];
  readonly contributionPercent: number;
  readonly sd: number;
  /** `multiplier` times the standard deviation. */
  readonly spread: number;
  readonly studyPercent: number;
  readonly tolerancePercent?: number;
}

export interface Analysis {
  readonly anova: readonly AnovaRow[];
  readonly components: readonly Component[];
  /** Number of distinct categories: 1.41 part / gauge, cut to a whole number; left out when the gauge adds nothing. */
  readonly distinctCategories?: number;
  readonly distinctCategoriesUncut?: number;
}

export interface VarianceStudy {
  readonly design: StudyTable['design'];
  readonly parts: readonly string[];
  readonly operators: readonly string[];
  readonly trials: number;
  readonly mean: number;
  readonly options: Required<Omit<StudyOptions, 'tolerance'>> & Pick<StudyOptions, 'tolerance'>;
  /** Left out where there is no interaction to tell: one operator, one trial, nested parts. */
  readonly withInteraction?: Analysis;
  readonly withoutInteraction: Analysis;
  /** Which of the two counts, and why. */
  readonly counts: 'with interaction' | 'without interaction';
  readonly because: string;
}

/** Throws 470, 472 and 473 when the readings make no balanced study. */
export function varianceStudy(readings: readonly StudyReading[], given: StudyOptions = {}): VarianceStudy {
  const options = {
    multiplier: 6,
    confidence: 0.95,
    interaction: 'test',
    alpha: 0.05,
    nested: false,
    ...given,
  } as const;
  const table = studyTable(readings, options.nested);
  const squares = sumsOfSquares(table);
  if (squares.total.sumOfSquares === 0) throw numberedError('study too small', 'all readings are alike');
  const withInteraction = squares.interaction === undefined ? undefined : kept(table, squares, options);
  const withoutInteraction = without(table, squares, options);
  const { design, parts, operators, trials } = table;
  return {
    design,
    parts,
    operators,
    trials,
    mean: meanOf(table.values.flat(2)),
    options,
    ...(withInteraction === undefined ? {} : { withInteraction }),
    withoutInteraction,
    ...choice(table, withInteraction, options),
  };
}

/** The analysis of the two that counts. */
export function countingAnalysis(study: VarianceStudy): Analysis {
  return study.counts === 'with interaction' && study.withInteraction !== undefined
    ? study.withInteraction
    : study.withoutInteraction;
}

export function component(analysis: Analysis, name: ComponentName): Component | undefined {
  return analysis.components.find((c) => c.name === name);
}

type Options = VarianceStudy['options'];
type Row = AnovaRow & MeanSquare;

interface Squares {
  readonly part: Row;
  /** Left out with one operator. */
  readonly operator?: Row;
  readonly interaction?: Row;
  /** Left out with one trial: then the interaction stands in for it. */
  readonly repeatability: Row;
  readonly total: Row;
}

function choice(
  { design, operators }: StudyTable,
  analysis: Analysis | undefined,
  { interaction, alpha }: Options,
): Pick<VarianceStudy, 'counts' | 'because'> {
  const counts = (kept: boolean, because: string) =>
    ({ counts: kept ? 'with interaction' : 'without interaction', because }) as const;
  if (analysis === undefined) {
    if (design === 'nested') return counts(false, 'every operator has parts of their own');
    return counts(
      false,
      operators.length < 2
        ? 'one operator: nothing is learned of differences between operators'
        : 'one trial: the interaction cannot be told from repeatability',
    );
  }
  if (interaction !== 'test') return counts(interaction === 'keep', 'as asked for');
  const p = analysis.anova.find((r) => r.source === 'interaction')?.p;
  if (p === undefined) return counts(false, 'neither repeats nor interaction show any spread');
  return counts(p <= alpha, `p of the interaction ${p.toPrecision(3)} against ${alpha}`);
}

function kept(table: StudyTable, s: Squares, options: Options): Analysis {
  const { interaction, repeatability: e, operator } = s;
  if (interaction === undefined || operator === undefined) throw new Error('no interaction in this study');
  const p = table.parts.length;
  const o = table.operators.length;
  const r = table.trials;
  const anova = [
    against(s.part, interaction),
    against(operator, interaction),
    against(interaction, e),
    e,
    s.total,
  ];
  return analysisOf(anova, options, {
    repeatability: [[1, e]],
    operator: [
      [1 / (p * r), operator],
      [-1 / (p * r), interaction],
    ],
    interaction: [
      [1 / r, interaction],
      [-1 / r, e],
    ],
    reproducibility: [
      [1 / (p * r), operator],
      [(p - 1) / (p * r), interaction],
      [-1 / r, e],
    ],
    gauge: [
      [1 / (p * r), operator],
      [(p - 1) / (p * r), interaction],
      [(r - 1) / r, e],
    ],
    part: [
      [1 / (o * r), s.part],
      [-1 / (o * r), interaction],
    ],
    total: [
      [1 / (o * r), s.part],
      [1 / (p * r), operator],
      [(p * o - p - o) / (p * o * r), interaction],
      [(r - 1) / r, e],
    ],
  });
}

function without(table: StudyTable, s: Squares, options: Options): Analysis {
  const p = table.values.length;
  const o = table.operators.length;
  const r = table.trials;
  const e = s.interaction === undefined ? s.repeatability : pooledRow(s.interaction, s.repeatability);
  if (s.operator === undefined) {
    return analysisOf([against(s.part, e), e, s.total], options, {
      repeatability: [[1, e]],
      gauge: [[1, e]],
      part: [
        [1 / r, s.part],
        [-1 / r, e],
      ],
      total: [
        [1 / r, s.part],
        [(r - 1) / r, e],
      ],
    });
  }
  const between = table.design === 'nested' ? s.part : e;
  const partWeight = table.design === 'nested' ? 1 / r : 1 / (o * r);
  const operatorTerms: Terms = [
    [1 / (p * r), s.operator],
    [-1 / (p * r), between],
  ];
  return analysisOf([against(s.part, e), against(s.operator, between), e, s.total], options, {
    repeatability: [[1, e]],
    operator: operatorTerms,
    reproducibility: operatorTerms,
    gauge: [...operatorTerms, [1, e]],
    part: [
      [partWeight, s.part],
      [-partWeight, e],
    ],
    total: [...operatorTerms, [partWeight, s.part], [1 - partWeight, e]],
  });
}

type Terms = readonly (readonly [weight: number, row: Row])[];

function analysisOf(
  anova: readonly AnovaRow[],
  options: Options,
  terms: Partial<Record<ComponentName, Terms>>,
): Analysis {
  const raw = (name: ComponentName) => combined(weighted(terms[name] ?? []));
  const held = (name: ComponentName) => Math.max(0, raw(name));
  const reproducibility = held('operator') + held('interaction');
  const gauge = held('repeatability') + reproducibility;
  const variances: Record<ComponentName, number> = {
    repeatability: held('repeatability'),
    operator: held('operator'),
    interaction: held('interaction'),
    reproducibility,
    gauge,
    part: held('part'),
    total: gauge + held('part'),
  };
  const total = variances.total;
  const components = (Object.keys(variances) as ComponentName[]).flatMap((name): Component[] => {
    const own = terms[name];
    if (own === undefined) return [];
    const variance = variances[name];
    const sd = Math.sqrt(variance);
    const spread = options.multiplier * sd;
    const isSum = name === 'reproducibility' || name === 'gauge' || name === 'total';
    return [
      {
        name,
        variance,
        ...(raw(name) < 0 && !isSum ? { negative: raw(name) } : {}),
        interval: interval(weighted(own), options.confidence),
        contributionPercent: (100 * variance) / total,
        sd,
        spread,
        studyPercent: 100 * Math.sqrt(variance / total),
        ...(options.tolerance === undefined ? {} : { tolerancePercent: (100 * spread) / options.tolerance }),
      },
    ];
  });
  const categories = (1.41 * Math.sqrt(variances.part)) / Math.sqrt(variances.gauge);
  return {
    anova,
    components,
    ...(Number.isFinite(categories)
      ? { distinctCategories: Math.floor(categories), distinctCategoriesUncut: categories }
      : {}),
  };
}

/** Terms that share a mean square are one term; those of weight 0 are none. */
function weighted(terms: Terms): Weighted[] {
  const rows = [...new Set(terms.map(([, row]) => row))];
  return rows.flatMap((row): Weighted[] => {
    const weight = terms.reduce((sum, [w, of]) => (of === row ? sum + w : sum), 0);
    const { meanSquare, degreesOfFreedom } = row;
    return Math.abs(weight) < 1e-15 ? [] : [{ weight, meanSquare, degreesOfFreedom }];
  });
}

/** F and p; p alone, 0, where nothing at all is left to compare with; neither where both are 0. */
function against(row: Row, denominator: MeanSquare): Row {
  if (denominator.meanSquare === 0) return row.meanSquare === 0 ? row : { ...row, p: 0 };
  const F = row.meanSquare / denominator.meanSquare;
  return { ...row, F, p: fisherAbove(F, row.degreesOfFreedom, denominator.degreesOfFreedom) };
}

function pooledRow(a: Row, b: Row): Row {
  if (b.degreesOfFreedom === 0) return { ...a, source: 'repeatability' };
  return rowOf('repeatability', a.sumOfSquares + b.sumOfSquares, a.degreesOfFreedom + b.degreesOfFreedom);
}

function rowOf(source: AnovaRow['source'], sumOfSquares: number, degreesOfFreedom: number): Row {
  return {
    source,
    sumOfSquares,
    degreesOfFreedom,
    meanSquare: degreesOfFreedom > 0 ? sumOfSquares / degreesOfFreedom : 0,
  };
}

function sumsOfSquares({ design, operators, trials, values }: StudyTable): Squares {
  const p = values.length;
  const o = operators.length;
  const r = trials;
  const grand = meanOf(values.flat(2));
  const cell = values.map((byOperator) => byOperator.map(meanOf));
  const ofPart = cell.map(meanOf);
  const ofOperator = operators.map((_, j) => meanOf(cell.map((c) => c[j])));
  // Below this a sum is what rounding leaves of nothing.
  const largest = values.flat(2).reduce((a, v) => Math.max(a, Math.abs(v)), 0);
  const nothing = p * o * r * (8 * Number.EPSILON * largest) ** 2;
  const sum = (of: (i: number, j: number, k: number) => number) => {
    const squares = values.reduce(
      (a, byOperator, i) =>
        a + byOperator.reduce((b, t, j) => b + t.reduce((c, _, k) => c + of(i, j, k) ** 2, 0), 0),
      0,
    );
    return squares < nothing ? 0 : squares;
  };
  const total = rowOf(
    'total',
    sum((i, j, k) => values[i][j][k] - grand),
    p * o * r - 1,
  );
  const repeatability = rowOf(
    'repeatability',
    sum((i, j, k) => values[i][j][k] - cell[i][j]),
    p * o * (r - 1),
  );
  const operator = rowOf(
    'operator',
    sum((_, j) => ofOperator[j] - grand),
    o - 1,
  );
  if (design === 'nested') {
    const part = rowOf(
      'part in operator',
      sum((i, j) => cell[i][j] - ofOperator[j]),
      o * (p - 1),
    );
    return { part, operator, repeatability, total };
  }
  const part = rowOf(
    'part',
    sum((i) => ofPart[i] - grand),
    p - 1,
  );
  if (o < 2) return { part, repeatability, total };
  const interaction = rowOf(
    'interaction',
    sum((i, j) => cell[i][j] - ofPart[i] - ofOperator[j] + grand),
    (p - 1) * (o - 1),
  );
  // With one trial there is no repetition, so what the interaction shows is all that there is to compare with.
  return r < 2
    ? { part, operator, repeatability: { ...interaction, source: 'repeatability' }, total }
    : { part, operator, interaction, repeatability, total };
}
