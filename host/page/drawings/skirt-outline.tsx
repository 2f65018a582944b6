/** The gap under the shell's lower edge along its outline, from above, front up: a band as wide as the gap, to one scale. */
import type { SkirtGap } from '../../views/skirt-gap';
import { Word } from './deck-from-above';
import { Drawing, path, rounded, type Drawn } from './sheet-of-paper';

type Corner = SkirtGap['sides'][number]['points'][number];

/** Outward from the shell, on the screen. */
const OUT: Record<SkirtGap['sides'][number]['side'], readonly [number, number]> = {
  left: [-1, 0],
  right: [1, 0],
  front: [0, -1],
  rear: [0, 1],
};

export function SkirtOutline({ gap, say }: { gap: SkirtGap } & Drawn) {
  const corners = gap.sides.flatMap((s) => s.points);
  const xs = corners.map((c) => c.xMm);
  const ys = corners.map((c) => c.yMm);
  const [rear, front] = [Math.min(...xs), Math.max(...xs)];
  const [right, left] = [Math.min(...ys), Math.max(...ys)];
  const size = Math.max(left - right, front - rear);
  const letter = size / 26;
  const widest = Math.max(...corners.map((c) => c.gapMm), 1);
  // The widest gap is a tenth of the drawing.
  const scale = (0.1 * size) / widest;
  const margin = 0.1 * size + 4.2 * letter;
  const words = gap.sides.map((s) => `${s.side}: ${say(s.leastMm)} to ${say(s.greatestMm)}`);
  return (
    <Drawing
      name="skirt-outline"
      title={`Gap under the skirt, front up. ${words.join('. ')}. Uneven by ${say(gap.unevenMm)}.`}
      viewBox={[-left - margin, -front - margin, left - right + 2 * margin, front - rear + 2 * margin]}
    >
      <Word
        x={-(left + right) / 2}
        y={-(front + rear) / 2 + 0.35 * letter}
        size={letter}
        text="front up"
        name="faint"
      />
      {gap.sides.map(({ side, points }) => {
        const [ox, oy] = OUT[side];
        const inner = points.map((p): [number, number] => [-p.yMm, -p.xMm]);
        const outer = points.map((p): [number, number] => [
          -p.yMm + ox * p.gapMm * scale,
          -p.xMm + oy * p.gapMm * scale,
        ]);
        return (
          <g key={side} class="skirt-side">
            <path class="band" d={path([...inner, ...outer.reverse()], true)} />
            <path class="line thick" d={path(inner)} />
            {ends(points).map((p, i) => (
              <Word
                key={i}
                x={rounded(-p.yMm + ox * (p.gapMm * scale + 0.5 * letter))}
                y={rounded(
                  -p.xMm + oy * (p.gapMm * scale + letter) + (ox === 0 ? (oy > 0 ? 0.4 : 0) : 0.35) * letter,
                )}
                size={letter}
                text={say(p.gapMm)}
                anchor={ox < 0 ? 'end' : ox > 0 ? 'start' : 'middle'}
                name="strong"
              />
            ))}
          </g>
        );
      })}
    </Drawing>
  );
}

function ends(points: readonly Corner[]): Corner[] {
  const [first] = points;
  const last = points.at(-1);
  return first === undefined || last === undefined ? [] : [first, last];
}
