/** The average-and-range method, for comparison with older studies. Formulas: MSA reference manual, 4th edition. */
import { numberedError } from '../../errors/errors';
import { rangeFactor, tabulatedConstants } from '../statistics/chart-constants';
import { meanOf, rangeOf } from '../statistics/spread';
import { studyTable, type StudyReading } from './readings';
import type { StudyOptions } from './variance-study';

export interface AverageRangeStudy {
  readonly meanRange: number;
  readonly rangeOfOperatorMeans: number;
  readonly rangeOfPartMeans: number;
  readonly K1: number;
  /** Left out with one operator. */
  readonly K2?: number;
  readonly K3: number;
  /** Standard deviations: repeatability, reproducibility, gauge, part, total. */
  readonly EV: number;
  readonly AV: number;
  readonly GRR: number;
  readonly PV: number;
  readonly TV: number;
  readonly studyPercent: Readonly<Record<'EV' | 'AV' | 'GRR' | 'PV', number>>;
  readonly tolerancePercent?: Readonly<Record<'EV' | 'AV' | 'GRR' | 'PV', number>>;
  readonly distinctCategories?: number;
  readonly distinctCategoriesUncut?: number;
  /** Greatest range that repeats of one part by one operator show by themselves, and where it was exceeded. */
  readonly rangeLimit: number;
  readonly rangesBeyond: readonly {
    readonly part: string;
    readonly operator: string;
    readonly range: number;
  }[];
}

/** Crossed data with at least two trials. Throws 470, 472 and 473. */
export function averageRangeStudy(
  readings: readonly StudyReading[],
  { tolerance, multiplier = 6, nested = false }: StudyOptions = {},
): AverageRangeStudy {
  const { design, parts, operators, trials, values } = studyTable(readings, nested);
  if (design === 'nested')
    throw numberedError('study too small', 'every operator has parts of their own; use the variance method');
  if (trials < 2) throw numberedError('study too small', 'one trial; this method needs two');
  const ranges = values.map((byOperator) => byOperator.map(rangeOf));
  const meanRange = meanOf(ranges.flat());
  const rangeOfOperatorMeans = rangeOf(operators.map((_, j) => meanOf(values.flatMap((v) => v[j]))));
  const rangeOfPartMeans = rangeOf(values.map((v) => meanOf(v.flat())));
  const K1 = rangeFactor(trials, Infinity);
  const K2 = operators.length > 1 ? rangeFactor(operators.length, 1) : undefined;
  const K3 = rangeFactor(parts.length, 1);
  const EV = meanRange * K1;
  const between = (rangeOfOperatorMeans * (K2 ?? 0)) ** 2 - EV ** 2 / (parts.length * trials);
  const AV = Math.sqrt(Math.max(0, between));
  const GRR = Math.sqrt(EV ** 2 + AV ** 2);
  const PV = rangeOfPartMeans * K3;
  const TV = Math.sqrt(GRR ** 2 + PV ** 2);
  const shares = (whole: number, times: number) => ({
    EV: (100 * times * EV) / whole,
    AV: (100 * times * AV) / whole,
    GRR: (100 * times * GRR) / whole,
    PV: (100 * times * PV) / whole,
  });
  const categories = (1.41 * PV) / GRR;
  const rangeLimit = tabulatedConstants(trials).D4 * meanRange;
  return {
    meanRange,
    rangeOfOperatorMeans,
    rangeOfPartMeans,
    K1,
    ...(K2 === undefined ? {} : { K2 }),
    K3,
    EV,
    AV,
    GRR,
    PV,
    TV,
    studyPercent: shares(TV, 1),
    ...(tolerance === undefined ? {} : { tolerancePercent: shares(tolerance, multiplier) }),
    ...(Number.isFinite(categories)
      ? { distinctCategories: Math.floor(categories), distinctCategoriesUncut: categories }
      : {}),
    rangeLimit,
    rangesBeyond: parts.flatMap((part, i) =>
      operators.flatMap((operator, j) =>
        ranges[i][j] > rangeLimit ? [{ part, operator, range: ranges[i][j] }] : [],
      ),
    ),
  };
}
