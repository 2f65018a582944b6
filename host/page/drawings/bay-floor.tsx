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
  const margin = 5 * letter;
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
      {points
        .filter((p) => !p.isWheel)
        .map((p) => (
          <g key={p.name} class="faint">
            <circle class="solid" cx={rounded(-p.yMm)} cy={rounded(-p.xMm)} r={rounded(0.2 * letter)} />
            <Word x={-p.yMm} y={-p.xMm + 1.1 * letter} size={0.85 * letter} text={heightOf(p, say)} />
          </g>
        ))}
      {points
        .filter((p) => p.isWheel)
        .map((p) => (
          <WheelSpot key={p.name} spot={p} letter={letter} middleMm={(left + right) / 2} say={say} />
        ))}
    </Drawing>
  );
}

type Spot = BayState['points'][number];

/** Its height stands on the outer side, clear of the points between the wheels. */
function WheelSpot(props: { spot: Spot; letter: number; middleMm: number } & Drawn) {
  const { spot, letter, middleMm, say } = props;
  const [x, y] = [-spot.yMm, -spot.xMm];
  const out = spot.yMm >= middleMm ? -1 : 1;
  const side = { x: x + out * letter, anchor: out < 0 ? 'end' : 'start' } as const;
  return (
    <g class="wheel-spot">
      <rect
        class="solid"
        x={rounded(x - 0.55 * letter)}
        y={rounded(y - 0.9 * letter)}
        width={rounded(1.1 * letter)}
        height={rounded(1.8 * letter)}
        rx={rounded(0.25 * letter)}
      />
      <Word {...side} y={y + 0.1 * letter} size={1.15 * letter} text={heightOf(spot, say)} name="strong" />
      <Word {...side} y={y + 1.05 * letter} size={0.75 * letter} text={spot.name} name="faint" />
    </g>
  );
}

function heightOf({ heightMm }: Spot, say: Drawn['say']): string {
  return heightMm === null ? 'not known' : say(heightMm);
}
