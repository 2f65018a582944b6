/** The pictures of a campaign: coverage against k, errors of what was said, and how machines leave the shop. */
import { finalDeviationsMm, finalErrorsMm, standardisedErrors } from './figures';
import type { Row } from './one-machine';
import { svgChart, type Series } from '../../host/views/svg-chart';

const TOOL = '#0b5394';
const HAND = '#b45f06';
const EXPECTED = '#666666';

/** File name -> SVG. */
export function plotsOf(rows: readonly Row[]): Record<string, string> {
  const by = (population: Row['population']) => rows.filter((r) => r.population === population);
  return {
    'coverage.svg': coveragePlot(by('matched'), by('mismatched')),
    'errors-level.svg': errorPlot(by('mismatched'), 'level'),
    'errors-cut-height.svg': errorPlot(by('mismatched'), 'cut height'),
    'leaving-level.svg': leavingPlot(by('mismatched'), 'level'),
    'leaving-rake.svg': leavingPlot(by('mismatched'), 'rake'),
  };
}

function coveragePlot(matched: readonly Row[], mismatched: readonly Row[]): string {
  const ks = Array.from({ length: 31 }, (_, i) => i / 10);
  const curve = (errors: number[]): [number, number][] =>
    ks.map((k) => [k, (100 * errors.filter((e) => e <= k).length) / Math.max(1, errors.length)]);
  return svgChart({
    title: 'Level, rake and cut height: how often k u holds the truth (simulated)',
    xLabel: 'k',
    yLabel: 'held, %',
    x: { from: 0, to: 3, ticks: [0, 0.5, 1, 1.5, 2, 2.5, 3] },
    y: { from: 0, to: 100, ticks: [0, 20, 40, 60, 80, 95, 100] },
    series: [
      {
        name: 'normal distribution',
        dash: '2 3',
        colour: EXPECTED,
        points: ks.map((k) => [k, 100 * held(k)]),
      },
      { name: 'matched population', dash: '', colour: TOOL, points: curve(standardisedErrors(matched)) },
      {
        name: 'mismatched population',
        dash: '6 3',
        colour: HAND,
        points: curve(standardisedErrors(mismatched)),
      },
    ],
  });
}

function errorPlot(rows: readonly Row[], measure: string): string {
  return histogramChart(
    `${measure}: said at the end minus truth (mismatched, simulated)`,
    'error, mm',
    finalErrorsMm(rows, measure),
  );
}

function leavingPlot(rows: readonly Row[], measure: string): string {
  return histogramChart(
    `${measure}: truly off target when the job was over (mismatched, simulated)`,
    'off target, mm',
    finalDeviationsMm(rows, measure),
  );
}

function histogramChart(title: string, xLabel: string, values: { tool: number[]; hand: number[] }): string {
  const series: Series[] = [
    { name: 'tool', dash: '', colour: TOOL, points: histogram(values.tool, -6, 6, 48) },
    { name: 'hand method, simulated', dash: '6 3', colour: HAND, points: histogram(values.hand, -6, 6, 48) },
  ];
  const highest = Math.max(5, ...series.flatMap((s) => s.points.map(([, share]) => share)));
  const top = 5 * Math.ceil(highest / 5);
  return svgChart({
    title,
    xLabel: `${xLabel} (outermost bins hold all beyond)`,
    yLabel: 'share of machines in a quarter of a millimetre, %',
    x: { from: -6, to: 6, ticks: [-6, -4, -2, 0, 2, 4, 6] },
    y: { from: 0, to: top, ticks: [0, top / 5, (2 * top) / 5, (3 * top) / 5, (4 * top) / 5, top] },
    series,
  });
}

/** Probability that a standard normal is within k: erf(k / sqrt 2) by Abramowitz and Stegun 7.1.26, to 1.5e-7. */
function held(k: number): number {
  const x = k / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const polynomial =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return 1 - polynomial * Math.exp(-x * x);
}

/** Share of the values in each bin, as a stepped line. */
function histogram(values: readonly number[], from: number, to: number, bins: number): [number, number][] {
  const width = (to - from) / bins;
  const counts = new Array<number>(bins).fill(0);
  for (const value of values) {
    const bin = Math.min(bins - 1, Math.max(0, Math.floor((value - from) / width)));
    counts[bin] = (counts[bin] ?? 0) + 1;
  }
  const shares = counts.map((count) => (100 * count) / Math.max(1, values.length));
  return shares.flatMap((share, i): [number, number][] => [
    [from + i * width, share],
    [from + (i + 1) * width, share],
  ]);
}
