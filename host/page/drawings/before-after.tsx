/** Before and after, row by row, each value with a bar of its uncertainty; limits as a band; the verdict in a shape. */
import type { ComparedRow, Measured } from '../../views/comparison';
import { Word } from './deck-from-above';
import { Drawing, path, rounded, type Drawn } from './sheet-of-paper';

const WIDTH = 500;
const ROW = 76;
const LEFT = 6;
const RIGHT = 6;
const LETTER = 19;

export function BeforeAfter(
  props: { readonly title: string; readonly rows: readonly ComparedRow[] } & Drawn,
) {
  const { title, rows, say } = props;
  const words = rows.map(
    (r) =>
      `${r.name}: ${[r.before && `before ${say(r.before.valueMm)}`, r.now && `now ${say(r.now.valueMm)}`, r.verdict].filter((w) => w !== undefined).join(', ')}`,
  );
  return (
    <Drawing
      name="before-after"
      title={`${title}. ${words.join('. ')}.`}
      viewBox={[0, 0, WIDTH, Math.max(1, rows.length) * ROW]}
    >
      {rows.map((row, i) => (
        <Row
          key={row.name}
          row={row}
          top={i * ROW}
          across={scaleOver(row.limits === undefined ? rows : [row])}
          say={say}
        />
      ))}
    </Drawing>
  );
}

function Row(props: { row: ComparedRow; top: number; across: (mm: number) => number } & Drawn) {
  const { row, top, across, say } = props;
  const { limits, before, now, verdict, targetMm } = row;
  const y = top + 52;
  return (
    <g class="row">
      <Word x={LEFT} y={top + 20} size={LETTER} text={row.name} anchor="start" />
      <Word
        x={WIDTH - RIGHT}
        y={top + 20}
        size={LETTER}
        text={numbersText(row, say)}
        anchor="end"
        name="strong"
      />
      {limits && (
        <g class="limits">
          <rect
            x={rounded(across(limits.lowerMm))}
            y={y - 18}
            width={rounded(across(limits.upperMm) - across(limits.lowerMm))}
            height={36}
          />
          {[limits.lowerMm, limits.upperMm].map((mm) => (
            <path
              key={mm}
              class="line"
              d={path([
                [across(mm), y - 18],
                [across(mm), y + 18],
              ])}
            />
          ))}
        </g>
      )}
      <path
        class="line dots"
        d={path([
          [across(targetMm), y - 18],
          [across(targetMm), y + 18],
        ])}
      />
      {before && <Mark at={before} y={y - 9} across={across} name="before" />}
      {now && <Mark at={now} y={before === undefined ? y : y + 8} across={across} name="now" />}
      {verdict !== undefined && <VerdictShape verdict={verdict} x={WIDTH - 16} y={y} />}
    </g>
  );
}

/**
 * Room for limits, targets and values with their bars: a measure has a scale of its own, all tips have one.
 */
function scaleOver(rows: readonly ComparedRow[]): (mm: number) => number {
  const values = rows.flatMap(({ limits, before, now, targetMm }) => [
    targetMm,
    ...(limits === undefined ? [] : [limits.lowerMm, limits.upperMm]),
    ...[before, now].flatMap((m) =>
      m === undefined ? [] : [m.valueMm - m.expandedMm, m.valueMm + m.expandedMm],
    ),
  ]);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const span = Math.max(high - low, 1);
  return (mm) => LEFT + ((mm - low) / span) * (WIDTH - LEFT - RIGHT - 28);
}

function Mark(props: { at: Measured; y: number; across: (mm: number) => number; name: 'before' | 'now' }) {
  const { at, y, across, name } = props;
  const [from, to] = [across(at.valueMm - at.expandedMm), across(at.valueMm + at.expandedMm)];
  const x = across(at.valueMm);
  const isNow = name === 'now';
  return (
    <g class={name}>
      <path
        class="line"
        d={`${path([
          [from, y],
          [to, y],
        ])}${path([
          [from, y - 5],
          [from, y + 5],
        ])}${path([
          [to, y - 5],
          [to, y + 5],
        ])}`}
      />
      {isNow ? (
        <circle class="solid" cx={rounded(x)} cy={y} r={8} />
      ) : (
        <rect class="ring" x={rounded(x - 6)} y={y - 6} width={12} height={12} />
      )}
    </g>
  );
}

function numbersText({ before, now }: ComparedRow, say: Drawn['say']): string {
  const said = (m: Measured) => `${say(m.valueMm)} ± ${say(m.expandedMm)}`;
  if (now === undefined) return 'not measured';
  return before === undefined ? said(now) : `${say(before.valueMm)} → ${said(now)}`;
}

/** Tick, cross, or question mark: never colour alone. */
export function VerdictShape(props: {
  verdict: NonNullable<ComparedRow['verdict']>;
  x: number;
  y: number;
  size?: number;
}) {
  const { verdict, x, y, size = 11 } = props;
  if (verdict === 'inside')
    return (
      <path
        class="verdict inside"
        d={path([
          [x - size, y],
          [x - size / 3, y + size * 0.8],
          [x + size, y - size * 0.8],
        ])}
      />
    );
  if (verdict === 'outside')
    return (
      <path
        class="verdict outside"
        d={`${path([
          [x - size, y - size],
          [x + size, y + size],
        ])}${path([
          [x - size, y + size],
          [x + size, y - size],
        ])}`}
      />
    );
  return <Word x={x} y={y + size * 0.8} size={2.4 * size} text="?" name="verdict open" />;
}

const SHAPES = { pass: 'inside', fail: 'outside', undecided: 'cannot tell yet' } as const;

/** The shape of a result alone, beside its word. An open job has an empty ring. */
export function VerdictMark({ decision }: { decision: keyof typeof SHAPES | null }) {
  return (
    <svg class="drawing verdict-mark" viewBox="0 0 40 40" aria-hidden="true">
      {decision === null ? (
        <circle class="ring" cx={20} cy={20} r={12} />
      ) : (
        <VerdictShape verdict={SHAPES[decision]} x={20} y={20} size={13} />
      )}
    </svg>
  );
}
