/** A history in pictures and words: a chart for the page, rows of characters for the terminal, sentences for both. */
import type { Change, HistoryView, Trend } from './history-view';
import { axisOver, type Axis, type Chart } from './svg-chart';
import { timeText } from './words';

const INKS = ['#555555', '#1d4d33'] as const;

/** The trend over its days; the first series dashed, so that it is told from the second on a grey print. */
export function trendChart(trend: Trend): Chart | undefined {
  const all = trend.series.flatMap((s) => s.points);
  if (all.length === 0) return undefined;
  const days = (at: string) => Date.parse(at) / 86_400_000;
  const first = Math.floor(Math.min(...all.map((p) => days(p.at))));
  const last = Math.max(first + 1, Math.ceil(Math.max(...all.map((p) => days(p.at)))));
  const x = dayAxis(last - first);
  const { limits } = trend;
  const values = [
    ...all.flatMap((p) => [p.value - (p.expanded ?? 0), p.value + (p.expanded ?? 0)]),
    ...(limits === undefined ? [] : [limits.lower, limits.upper]),
  ];
  const flat = (name: string, at: number) => ({
    name,
    dash: '2 3' as const,
    colour: '#b00020',
    points: [
      [x.from, at],
      [x.to, at],
    ] as const,
  });
  return {
    title: trend.name,
    xLabel: 'day of the job',
    yLabel: trend.unit,
    x: { ...x, names: x.ticks.map((day) => new Date((first + day) * 86_400_000).toISOString().slice(0, 10)) },
    y: axisOver(values),
    series: [
      ...(limits === undefined ? [] : [flat('upper limit', limits.upper), flat('lower limit', limits.lower)]),
      ...trend.series.map((s, i) => ({
        name: s.name,
        dash: i === 0 && trend.series.length > 1 ? ('6 3' as const) : ('' as const),
        colour: INKS[i === 0 && trend.series.length > 1 ? 0 : 1],
        dots: true as const,
        points: s.points.map((p) => [days(p.at) - first, p.value] as const),
      })),
    ],
  };
}

/** Whole days, four of them at the most. */
function dayAxis(days: number): Axis {
  const step = Math.ceil(days / 3);
  const ticks = Array.from({ length: Math.ceil(days / step) + 1 }, (_, i) => i * step);
  return { from: 0, to: ticks.at(-1) ?? days, ticks };
}

const ROWS = 9;
const MOST = 60;
const MARKS = ['o', 'x'] as const;

/** Rows of characters, one column for each job, the newest on the right: o as it came, x as it left, * both, - a limit. */
export function trendText(trend: Trend): string[] {
  const jobs = [...new Set(trend.series.flatMap((s) => s.points.map((p) => `${p.at} ${p.writer} ${p.job}`)))]
    .sort()
    .slice(-MOST);
  const values = trend.series.flatMap((s) => s.points.map((p) => p.value));
  if (values.length === 0) return [`${trend.name}: nothing read`];
  const limits = trend.limits === undefined ? [] : [trend.limits.lower, trend.limits.upper];
  const [low, high] = [Math.min(...values, ...limits), Math.max(...values, ...limits)];
  const span = high - low || 1;
  const rowOf = (value: number) => Math.round(((high - value) / span) * (ROWS - 1));
  const markAt = (column: string, row: number) => {
    const marks = trend.series.flatMap((s, i) =>
      s.points.some((p) => `${p.at} ${p.writer} ${p.job}` === column && rowOf(p.value) === row)
        ? [MARKS[i] ?? 'o']
        : [],
    );
    if (marks.length > 1) return '*';
    return marks[0] ?? (limits.some((l) => rowOf(l) === row) ? '-' : ' ');
  };
  const key =
    trend.series.length > 1
      ? `: ${trend.series.map((s, i) => `${MARKS[i] ?? 'o'} ${s.name}`).join(', ')}`
      : '';
  return [
    `${trend.name}, ${trend.unit}${key}${limits.length === 0 ? '' : ', - limits'}`,
    ...Array.from({ length: ROWS }, (_, row) => {
      const label = row % 4 === 0 ? (high - (row / (ROWS - 1)) * span).toFixed(2) : '';
      return `${label.padStart(8)} |${jobs.map((column) => markAt(column, row)).join('')}`.trimEnd();
    }),
    ...slopeLine(trend),
  ];
}

function slopeLine({ slope, unit, series }: Trend): string[] {
  if (slope === undefined) return [];
  const per = `${signed(slope.perMonth)} ± ${(2 * slope.standardUncertainty).toFixed(2)} ${unit} a month (k = 2)`;
  const which = series.length > 1 ? `, ${series[0]?.name ?? ''}` : '';
  return [`         trend${which}: ${slope.isMoreThanNoise ? per : `none that shows (${per})`}`];
}

/** What has changed since the machine was here, one line for each measure, and what was done then. */
export function changeLines({ from, to, measures, done }: Change): string[] {
  return [
    `Job ${to.job} of ${timeText(to.at)} against job ${from.job} of ${timeText(from.at)}: as it came back, less as it had left`,
    ...measures.map(
      (m) =>
        `  ${m.name}: ${signed(m.differenceMm)} ± ${m.expandedMm.toFixed(1)} mm (${plain(m.leftMm)} to ${plain(m.cameMm)}): ${m.isMoreThanNoise ? 'has changed' : 'no change that the readings can tell'}`,
    ),
    ...(done.length === 0
      ? ['  nothing was turned or replaced in the earlier job']
      : ['  done in the earlier job:', ...done.map((d) => `    ${d}`)]),
  ];
}

/** The whole history for a terminal. */
export function historyText(view: HistoryView): string[] {
  const { jobs } = view;
  const simulated = jobs.filter((j) => j.simulated).length;
  return [
    `History of ${view.of} ${view.name}: ${jobs.length} ${jobs.length === 1 ? 'job' : 'jobs'}${simulated > 0 ? `, ${simulated} of them simulated` : ''}`,
    ...view.trends.flatMap((t) => ['', ...trendText(t)]),
    ...view.changes.flatMap((c) => ['', ...changeLines(c)]),
  ];
}

function plain(value: number): string {
  return value
    .toFixed(1)
    .replace(/^-(?=0\.0$)/, '')
    .replace('-', '−');
}

function signed(value: number): string {
  const size = Math.abs(value).toFixed(2);
  return value < 0 && Number(size) !== 0 ? `−${size}` : size === '0.00' ? size : `+${size}`;
}
