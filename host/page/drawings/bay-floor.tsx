/** The floor of a bay from above, to scale: wheel spots as boxes, other points as dots, each with its height. */
import type { BayState } from '../../views/bay-state';
import { Word } from './deck-from-above';
import { arrowHead, Drawing, rounded, type Drawn } from './sheet-of-paper';

export function BayFloor({ bay, say }: { bay: BayState } & Drawn) {
  const { points } = bay;
  const xs = points.map((p) => p.xMm);
  const ys = points.map((p) => p.yMm);
  const [rear, front] = [Math.min(...xs), Math.max(...xs)];
  const [right, left] = [Math.min(...ys), Math.max(...ys)];
  const letter = Math.max(front - rear, left - right, 500) / 26;
  const margin = 4 * letter;
  const words = points.map((p) => `${p.name} ${p.heightMm === null ? 'not known' : say(p.heightMm)}`);
  return (
    <Drawing
      name="bay-floor"
      title={`Floor of ${bay.name} from above: ${words.join(', ')}`}
      viewBox={[-left - margin, -front - margin, left - right + 2 * margin, front - rear + 2 * margin]}
    >
      <g class="faint">
        <path class="solid" d={arrowHead(-(left + right) / 2, -front - margin + 0.2 * letter, letter, 0)} />
        <Word
          x={-(left + right) / 2}
          y={-front - margin + 2.1 * letter}
          size={0.9 * letter}
          text="along the bay"
        />
      </g>
      {points.map((p) => {
        const [x, y] = [-p.yMm, -p.xMm];
        const r = 0.55 * letter;
        return (
          <g key={p.name}>
            {p.isWheel ? (
              <rect
                class="solid"
                x={rounded(x - r)}
                y={rounded(y - 1.4 * r)}
                width={rounded(2 * r)}
                height={rounded(2.8 * r)}
                rx={rounded(0.4 * r)}
              />
            ) : (
              <circle class="solid" cx={rounded(x)} cy={rounded(y)} r={rounded(0.4 * r)} />
            )}
            <Word
              x={x}
              y={y + 2.1 * letter}
              size={letter}
              text={p.heightMm === null ? 'not known' : say(p.heightMm)}
              name="strong"
            />
            {p.isWheel && <Word x={x} y={y - 1.1 * letter} size={0.8 * letter} text={p.name} name="faint" />}
          </g>
        );
      })}
    </Drawing>
  );
}
