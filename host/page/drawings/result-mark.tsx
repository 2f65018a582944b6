/** The result in a word, a shape and its probability on a scale from "surely not" to "surely". */
import type { Decision } from '../../ledger/events';
import { Word } from './deck-from-above';
import { VerdictShape } from './before-after';
import { Drawing, path, rounded } from './sheet-of-paper';

const WIDTH = 500;
const BAR = { x: 10, y: 96, width: 480, height: 34 };

export interface ResultProps {
  readonly decision: Decision;
  /** "pass", "fail", "can't tell yet" */
  readonly word: string;
  /** Of all measures within their limits together. */
  readonly probability: number;
  /** "at least 97.9 %" */
  readonly probabilityText: string;
}

const SHAPES = { pass: 'inside', fail: 'outside', undecided: 'cannot tell yet' } as const;

export function ResultMark({ decision, word, probability, probabilityText }: ResultProps) {
  const { x, y, width, height } = BAR;
  const at = x + width * Math.max(0, Math.min(1, probability));
  return (
    <Drawing
      name={`result-mark ${decision}`}
      title={`${word}. All limits kept with a probability of ${probabilityText}.`}
      viewBox={[0, 0, WIDTH, 176]}
    >
      <VerdictShape verdict={SHAPES[decision]} x={46} y={40} size={24} />
      <Word x={92} y={58} size={52} text={word} anchor="start" name="strong" />
      <rect class="track" x={x} y={y} width={width} height={height} rx={6} />
      <rect class="way" x={x} y={y} width={rounded(at - x)} height={height} rx={6} />
      <path
        class="line thick"
        d={path([
          [at, y - 8],
          [at, y + height + 8],
        ])}
      />
      <Word x={WIDTH / 2} y={y + height + 31} size={24} text={probabilityText} name="strong" />
      <Word x={x} y={y + height + 28} size={18} text="surely not" anchor="start" name="faint" />
      <Word x={x + width} y={y + height + 28} size={18} text="surely all kept" anchor="end" name="faint" />
    </Drawing>
  );
}
