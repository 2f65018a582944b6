/** Small charts as SVG text: lines, steps and bars over one pair of axes. No dependency, no script, no colour alone. */
export interface Chart {
  readonly title: string;
  readonly xLabel: string;
  readonly yLabel: string;
  readonly x: Axis;
  readonly y: Axis;
  readonly series: readonly Series[];
}

export interface Axis {
  readonly from: number;
  readonly to: number;
  readonly ticks: readonly number[];
  /** What stands at the ticks instead of their numbers. */
  readonly names?: readonly string[];
}

export interface Series {
  readonly name: string;
  readonly points: readonly (readonly [x: number, y: number])[];
  /** Pattern of the line, so that it can be told on a grey printer. */
  readonly dash: '' | '6 3' | '2 3';
  readonly colour: string;
  /** A dot at every point. */
  readonly dots?: true;
}

const WIDTH = 640;
const HEIGHT = 400;
const LEFT = 64;
const RIGHT = 20;
const TOP = 40;
const BOTTOM = 56;
const LEGEND_LINE = 18;

export function svgChart({ title, xLabel, yLabel, x, y, series }: Chart): string {
  // The names stand above the curves, one to a line, so that neither hides the other.
  const top = TOP + series.length * LEGEND_LINE;
  const across = (value: number) => LEFT + ((value - x.from) / (x.to - x.from)) * (WIDTH - LEFT - RIGHT);
  const up = (value: number) =>
    HEIGHT - BOTTOM - ((value - y.from) / (y.to - y.from)) * (HEIGHT - top - BOTTOM);
  const line = (x1: number, y1: number, x2: number, y2: number, stroke: string) =>
    `<line x1="${n(x1)}" y1="${n(y1)}" x2="${n(x2)}" y2="${n(y2)}" stroke="${stroke}"/>`;
  const text = (atX: number, atY: number, anchor: string, words: string, more = '') =>
    `<text x="${n(atX)}" y="${n(atY)}" text-anchor="${anchor}"${more}>${escaped(words)}</text>`;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" font-family="sans-serif" font-size="12">`,
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/>`,
    text(LEFT, 22, 'start', title, ' font-size="14" font-weight="bold"'),
    ...x.ticks.flatMap((tick, i) => [
      line(across(tick), up(y.from), across(tick), up(y.to), '#ddd'),
      text(across(tick), HEIGHT - BOTTOM + 18, 'middle', x.names?.[i] ?? label(tick)),
    ]),
    ...y.ticks.flatMap((tick) => [
      line(across(x.from), up(tick), across(x.to), up(tick), '#ddd'),
      text(LEFT - 8, up(tick) + 4, 'end', label(tick)),
    ]),
    line(across(x.from), up(y.from), across(x.to), up(y.from), '#000'),
    line(across(x.from), up(y.from), across(x.from), up(y.to), '#000'),
    text((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 14, 'middle', xLabel),
    `<g transform="translate(16 ${n((top + HEIGHT - BOTTOM) / 2)}) rotate(-90)">${text(0, 0, 'middle', yLabel)}</g>`,
    ...series.map(
      (s) =>
        `<polyline fill="none" stroke="${s.colour}" stroke-width="2"${s.dash === '' ? '' : ` stroke-dasharray="${s.dash}"`} points="${s.points
          .map(([a, b]) => `${n(across(within(x, a)))},${n(up(within(y, b)))}`)
          .join(' ')}"/>`,
    ),
    ...series.flatMap((s) =>
      s.dots === undefined
        ? []
        : s.points.map(
            ([a, b]) =>
              `<circle cx="${n(across(within(x, a)))}" cy="${n(up(within(y, b)))}" r="3" fill="${s.colour}"/>`,
          ),
    ),
    ...series.flatMap((s, i) => {
      const at = TOP + 4 + i * LEGEND_LINE;
      const dash = s.dash === '' ? '' : ` stroke-dasharray="${s.dash}"`;
      return [
        `<line x1="${LEFT}" y1="${at - 4}" x2="${LEFT + 28}" y2="${at - 4}" stroke="${s.colour}" stroke-width="2"${dash}/>`,
        text(LEFT + 34, at, 'start', s.name),
      ];
    }),
    '</svg>',
    '',
  ].join('\n');
}

/** Several charts one under the other in one picture. */
export function svgCharts(charts: readonly Chart[]): string {
  const panels = charts.map((chart, i) =>
    svgChart(chart).replace('<svg ', `<svg y="${i * HEIGHT}" width="${WIDTH}" height="${HEIGHT}" `),
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT * charts.length}">\n${panels.join('')}</svg>\n`;
}

/** An axis that holds all values, with a margin and about five ticks at round numbers. */
export function axisOver(values: readonly number[]): Axis {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const span = high - low || Math.abs(high) || 1;
  const rough = span / 5;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((m) => m * power >= rough) ?? 10) * power;
  const first = Math.floor(low / step);
  // One value that lies on a tick still wants a length.
  const last = Math.max(first + 1, Math.ceil(high / step));
  const ticks = Array.from({ length: last - first + 1 }, (_, i) =>
    Number(((first + i) * step).toPrecision(12)),
  );
  return { from: ticks[0], to: ticks[ticks.length - 1], ticks };
}

const n = (value: number) => String(Math.round(value * 100) / 100);
const label = (value: number) => String(Math.round(value * 1000) / 1000);
const within = ({ from, to }: Axis, value: number) => Math.min(to, Math.max(from, value));
const escaped = (words: string) =>
  words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
