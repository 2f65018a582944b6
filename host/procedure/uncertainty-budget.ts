/**
 * Where the uncertainty of a set of readings comes from: the share of every source in the variance of every measure.
 *
 * The readings are solved once more for each source, its variance a little larger. The estimate is the one of least
 * variance, so a small change of a variance does not act through the estimate (envelope theorem), and the share of a
 * variance v in a measure's variance V is v (dV/dv) / V. V is of first degree in all variances together, so the shares
 * add up to 1 (Euler's theorem on homogeneous functions); what is left out is reported as the rest.
 */
import type { Layout, MeasureQuestion, Solution, TipReading, Widths } from '../../protocol/solver';
import type { WidthName } from '../gauging/widths';

/** Besides the widths: the slope of the floor, the scatter within captures, the tape, the survey, the place in the bay. */
export type UncertaintySource =
  Exclude<WidthName, 'floorLengthMm'> | 'floorSlopeRad' | 'captures' | 'tape' | 'survey' | 'parking';

export interface UncertaintyBudget {
  /** Measures that the readings determine, in the order of the questions, with their standard uncertainty. */
  readonly measures: readonly { readonly name: string; readonly standardUncertaintyMm: number }[];
  /** The share (0 to 1) of each source in the variance of each of these measures; largest first, none that adds nothing. */
  readonly sources: readonly {
    readonly source: UncertaintySource;
    /** The standard deviation it was counted with, in the unit of its width; left out where there is not just one. */
    readonly value?: number;
    readonly shares: readonly number[];
  }[];
  /** What the shares leave of each variance: rounding, and terms that no source carries alone. */
  readonly rest: readonly number[];
  /** All standard uncertainties were made so many times larger because the readings scatter: at least 1. */
  readonly scatter: number;
}

export interface Solved {
  readonly layout: Layout;
  readonly readings: readonly TipReading[];
  readonly widths: Widths;
  readonly questions: readonly MeasureQuestion[];
  /** With the widths as they are. */
  readonly solution: Solution;
  readonly scatter: number;
}

/** Relative change of a variance. */
const STEP = 1e-4;
/** A source below this share of every variance is left out. */
const LEAST_SHARE = 5e-5;

const WIDTHS: readonly (Exclude<WidthName, 'floorLengthMm'> | 'floorSlopeRad')[] = [
  'placementMm',
  'textureMm',
  'floorMm',
  'floorSlopeRad',
  'offsetMm',
  'gain',
  'spindleHeightMm',
  'spindleTiltRad',
  'bendMm',
  'shaftMm',
  'seatingHeightMm',
  'seatingSlopeRad',
  'headingDeg',
  'headingHabitDeg',
];

/** `solve` is the solver that gave the solution. */
export function uncertaintyBudget(
  solved: Solved,
  solve: (layout: Layout, readings: readonly TipReading[], widths: Widths) => Solution,
): UncertaintyBudget {
  const { layout, readings, widths, solution, scatter } = solved;
  const known = solution.measures.flatMap((m, i) => (m.determined ? [{ ...m, i }] : []));
  const count = solution.measures.length;
  const variances = (of: Solution) => known.map(({ i }) => of.measureCovariance[i * count + i] ?? 0);
  const before = variances(solution);
  const root = Math.sqrt(1 + STEP);
  const share = (of: Solution) =>
    variances(of).map((after, i) => (after - (before[i] ?? 0)) / STEP / (before[i] ?? 1));

  const ofWidths = WIDTHS.filter((name) => (widths[name] ?? 0) > 0).map((source) => ({
    source,
    value: widths[source] ?? 0,
    shares: share(solve(layout, readings, { ...widths, [source]: (widths[source] ?? 0) * root })),
  }));
  const wider = readings.map((r) => ({ ...r, standardErrorMm: r.standardErrorMm * root }));
  const sources = [
    ...ofWidths,
    { source: 'captures' as const, shares: share(solve(layout, wider, widths)) },
    ...layoutsWidened(layout, root).map(([source, other]) => ({
      source,
      shares: share(solve(other, readings, widths)),
    })),
  ];
  return {
    measures: known.map(({ name, standardUncertaintyMm }) => ({
      name,
      standardUncertaintyMm: standardUncertaintyMm * scatter,
    })),
    sources: sources
      .filter(({ shares }) => shares.some((s) => s > LEAST_SHARE))
      .sort((a, b) => Math.max(...b.shares) - Math.max(...a.shares)),
    rest: before.map((_, i) => 1 - sources.reduce((sum, { shares }) => sum + (shares[i] ?? 0), 0)),
    scatter,
  };
}

/** The layout with what is known of geometry and floor a little less well known, one thing at a time. */
function layoutsWidened(layout: Layout, root: number): [UncertaintySource, Layout][] {
  const { uncertaintyMm: tape, surveyed } = layout;
  const wider: [UncertaintySource, Layout][] = [];
  if (tape !== undefined)
    wider.push([
      'tape',
      {
        ...layout,
        uncertaintyMm: {
          spindleMm: tape.spindleMm * root,
          tipRadiusMm: tape.tipRadiusMm * root,
          wheelMm: tape.wheelMm * root,
        },
      },
    ]);
  if (surveyed !== undefined) {
    const { parking, covariance } = surveyed;
    const wide = covariance.map((row) => row.map((v) => v * root * root));
    wider.push(['survey', { ...layout, surveyed: { ...surveyed, covariance: wide } }]);
    const placed = {
      ...parking,
      xSdMm: parking.xSdMm * root,
      ySdMm: parking.ySdMm * root,
      headingSdDeg: parking.headingSdDeg * root,
    };
    wider.push(['parking', { ...layout, surveyed: { ...surveyed, parking: placed } }]);
  }
  return wider;
}
