/** How high a pass would leave the grass across the machine, seen from behind: geometry alone. Before dashed, now thick. */
import type { Swath } from '../../views/swath';
import { Word } from './deck-from-above';
import { Drawing, path, rounded, type Drawn } from './sheet-of-paper';

const WIDTH = 500;
const BOX = 120;
const TOP = 40;
const LETTER = 18;
/** Less than this is not stretched to fill the box. */
const LEAST_SPAN_MM = 4;

export function SwathProfile({ now, before, say }: { now: Swath; before?: Swath } & Drawn) {
  const heights = [now, ...(before === undefined ? [] : [before])].flatMap((s) =>
    s.points.map((p) => p.heightMm),
  );
  const [low, high] = [Math.min(...heights), Math.max(...heights)];
  const perMm = BOX / Math.max(LEAST_SPAN_MM, high - low);
  const ys = now.points.map((p) => p.yMm);
  const [right, left] = [Math.min(...ys), Math.max(...ys)];
  // Seen from behind, the machine's left is at the left.
  const at = (p: { yMm: number; heightMm: number }): [number, number] => [
    ((left - p.yMm) / (left - right)) * WIDTH,
    TOP + BOX - (p.heightMm - low) * perMm,
  ];
  const base = TOP + BOX + 14;
  const grass = path([[0, base], ...now.points.map(at).reverse(), [WIDTH, base]], true);
  const worst = now.steps.reduce((a, b) => (b.mm > a.mm ? b : a), { mm: 0, yMm: 0, of: '' });
  return (
    <Drawing
      name="swath-profile"
      title={`Swath profile seen from behind, by geometry: from ${say(low)} to ${say(high)}, mean ${say(now.meanMm)}.${worst.mm < 0.05 ? '' : ` Greatest step ${say(worst.mm)}, at the edge of the ${worst.of} blade.`}`}
      viewBox={[-8, 0, WIDTH + 16, base + 44]}
    >
      <Word x={0} y={20} size={LETTER} text={`left · highest ${say(high)}`} anchor="start" />
      <Word x={WIDTH} y={20} size={LETTER} text={`lowest ${say(low)} · right`} anchor="end" />
      <path class="grass" d={grass} />
      {before && <path class="line dashes" d={path(before.points.map(at))} />}
      <path class="line thick" d={path(now.points.map(at))} />
      <path
        class="line"
        d={path([
          [0, base],
          [WIDTH, base],
        ])}
      />
      {worst.mm >= 0.05 && (
        <path
          class="line faint"
          d={path([
            [at({ yMm: worst.yMm, heightMm: low })[0], TOP - 6],
            [at({ yMm: worst.yMm, heightMm: low })[0], base],
          ])}
        />
      )}
      <Word
        x={rounded(WIDTH / 2)}
        y={base + 28}
        size={0.9 * LETTER}
        text={
          worst.mm < 0.05
            ? 'no step where blades overlap'
            : `greatest step ${say(worst.mm)}, at the edge of the ${worst.of} blade`
        }
        name="faint"
      />
    </Drawing>
  );
}
