/** A control chart as a picture and as a row of characters. */
import type { Chart as ControlChart } from '../gauging/statistics/control-chart';
import { axisOver, type Chart } from './svg-chart';

export function controlChartPicture(title: string, chart: ControlChart, yLabel = 'value'): Chart {
  const { points, centre, lower, upper } = chart;
  const x = points.map((_, i) => i + 1);
  const every = Math.max(1, Math.ceil(x.length / 15));
  const limit = (name: string, of: readonly number[]) =>
    ({ name, dash: '6 3', colour: '#b00020', points: x.map((at, i) => [at, of[i]] as const) }) as const;
  return {
    title,
    xLabel: 'in order',
    yLabel,
    x: { from: 0.5, to: x.length + 0.5, ticks: x.filter((at) => (at - 1) % every === 0) },
    y: axisOver([...points, ...lower, ...upper]),
    series: [
      limit('upper limit', upper),
      {
        name: 'centre',
        dash: '2 3',
        colour: '#555555',
        points: [
          [1, centre],
          [x.length, centre],
        ],
      },
      limit('lower limit', lower),
      { name: 'points', dash: '', colour: '#1d4d33', dots: true, points: x.map((at, i) => [at, points[i]]) },
    ],
  };
}

const ROWS = 9;

/** Rows of characters from the upper to the lower limit; `!` marks a point beyond. */
export function controlChartText(chart: ControlChart, most = 60): string[] {
  const { points, centre, lower, upper } = chart;
  const from = Math.max(0, points.length - most);
  const half = Math.max(upper[from] - centre, centre - lower[from]) || 1;
  const rowOf = (value: number) =>
    Math.max(0, Math.min(ROWS - 1, Math.round(((centre + half - value) / (2 * half)) * (ROWS - 1))));
  return Array.from({ length: ROWS }, (_, row) => {
    const marks = points.slice(from).map((p, i) => {
      if (rowOf(p) !== row) return row === (ROWS - 1) / 2 ? '-' : ' ';
      return p > upper[from + i] || p < lower[from + i] ? '!' : 'o';
    });
    const value = centre + half - (2 * half * row) / (ROWS - 1);
    const label = row === 0 || row === ROWS - 1 || row === (ROWS - 1) / 2 ? value.toFixed(3) : '';
    return `${label.padStart(8)} |${marks.join('')}`.trimEnd();
  });
}
