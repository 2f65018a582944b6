/** A chart of lines over one pair of axes, in the theme of the page: series differ in pattern as well as in colour. */
import type { Axis, Chart } from '../../views/svg-chart';
import { Word } from './deck-from-above';
import { Drawing, path, rounded } from './sheet-of-paper';

const WIDTH = 520;
const CURVES = 194;
const LEFT = 74;
const RIGHT = 16;
const TOP = 36;
/** From one name to the next. */
const LINE = 20;
const GAP = 8;
const BOTTOM = 40;
const LETTER = 15;

export function ChartDrawing({ chart }: { chart: Chart }) {
  const { title, x, y, series, yLabel } = chart;
  const across = (value: number) =>
    LEFT + ((within(x, value) - x.from) / (x.to - x.from)) * (WIDTH - LEFT - RIGHT);
  // The names stand above the curves, one to a line, so that neither hides the other.
  const bottom = TOP + series.length * LINE + GAP + CURVES;
  const up = (value: number) => bottom - ((within(y, value) - y.from) / (y.to - y.from)) * CURVES;
  return (
    <Drawing
      name="chart"
      title={`${title}: ${series.map((s) => s.name).join(', ')}`}
      viewBox={[0, 0, WIDTH, bottom + BOTTOM]}
    >
      <Word x={8} y={20} size={18} text={`${title}, ${yLabel}`} anchor="start" name="strong" />
      {y.ticks.map((tick) => (
        <g key={tick}>
          <path
            class="line grid"
            d={path([
              [LEFT, up(tick)],
              [WIDTH - RIGHT, up(tick)],
            ])}
          />
          <Word x={LEFT - 8} y={up(tick) + 5} size={LETTER} text={tickText(tick)} anchor="end" name="faint" />
        </g>
      ))}
      {x.ticks.map((tick, i) => (
        <Word
          key={tick}
          x={across(tick)}
          y={bottom + 22}
          size={LETTER}
          text={x.names?.[i] ?? `${tick}`}
          name="faint"
        />
      ))}
      {series.map((s, i) => (
        <g key={s.name} class={`series ${inkOf(s.name, i === series.length - 1)}`}>
          <path
            class="line"
            d={path(s.points.map(([a, b]) => [across(a), up(b)]))}
            {...(s.dash === '' ? {} : { 'stroke-dasharray': s.dash })}
          />
          {s.dots &&
            s.points.map(([a, b], k) => (
              <circle key={k} class="solid" cx={rounded(across(a))} cy={rounded(up(b))} r={4} />
            ))}
          <Name name={s.name} dash={s.dash} at={i} />
        </g>
      ))}
    </Drawing>
  );
}

/** What was measured last stands out; limits are alike. */
function inkOf(name: string, isLast: boolean): string {
  if (name.endsWith('limit')) return 'limit';
  return isLast ? 'main' : 'other';
}

function Name({ name, dash, at }: { name: string; dash: string; at: number }) {
  const y = TOP + 8 + at * LINE;
  return (
    <g>
      <path
        class="line"
        d={path([
          [8, y - 5],
          [40, y - 5],
        ])}
        {...(dash === '' ? {} : { 'stroke-dasharray': dash })}
      />
      <Word x={48} y={y} size={LETTER} text={name} anchor="start" />
    </g>
  );
}

function within({ from, to }: Axis, value: number): number {
  return Math.min(to, Math.max(from, value));
}

function tickText(tick: number): string {
  return `${Math.round(tick * 1000) / 1000}`.replace('-', '−');
}
