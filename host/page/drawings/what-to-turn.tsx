/**
 * One adjuster to be turned: the deck going up or down, the nut as it looks from where the person looks, the way and how
 * far it turns. And the bar of a turn that is followed live.
 */
import type { DeckPlan } from '../../views/deck-plan';
import type { TurnPicture } from '../../views/turn-picture';
import { DeckFromAbove, hexagon, Word } from './deck-from-above';
import { arc, arrowHead, Drawing, onCircle, path, rounded, TurningArrow, type Drawn } from './sheet-of-paper';

const SIZE = 320;
const MIDDLE = { x: 160, y: 168 };
const NUT = 62;
const SWING = 104;

/** The nut seen along its thread from the side that is named: arrow, whole turns, and the flats beyond them counted round. */
export function NutToTurn({ turn }: { turn: TurnPicture }) {
  const { rotation, wholeTurns, restSteps, stepsInATurn, seenFrom, sentence } = turn;
  const way = rotation === 'clockwise' ? 1 : -1;
  const restDeg = stepsInATurn === undefined ? 0 : (360 / stepsInATurn) * restSteps;
  const { x, y } = MIDDLE;
  return (
    <Drawing name="nut-to-turn" title={sentence} viewBox={[0, 0, SIZE, SIZE]}>
      <Word x={x} y={26} size={24} text={`seen from ${seenFrom}`} />
      {wholeTurns > 0 && (
        <TurningArrow
          name="whole-turns"
          x={x}
          y={y}
          radius={SWING}
          fromDeg={way * 20}
          sweepDeg={way * 320}
          head={34}
        />
      )}
      {wholeTurns === 0 && (
        <TurningArrow
          name="part-turn"
          x={x}
          y={y}
          radius={SWING}
          fromDeg={0}
          sweepDeg={way * Math.max(40, restDeg)}
          head={34}
        />
      )}
      <path class="nut" d={hexagon(x, y, NUT)} />
      {restDeg > 0 && <path class="flats" d={flats(x, y, way, stepsInATurn ?? 1, restSteps)} />}
      <circle class="bore" cx={x} cy={y} r={30} />
      <Word
        x={x}
        y={y + 12}
        size={36}
        text={wholeTurns > 0 ? `${wholeTurns}×` : `${restSteps}`}
        name="strong"
      />
      <Word x={x} y={SIZE - 10} size={26} text={turn.amount} name="strong" />
    </Drawing>
  );
}

/** A band about the nut, one piece for each flat (or step) beyond the whole turns, with gaps that can be counted. */
function flats(x: number, y: number, way: number, inATurn: number, count: number): string {
  const step = 360 / inATurn;
  const gap = Math.min(6, step / 6);
  return Array.from({ length: count }, (_, i) =>
    arc(x, y, NUT + 16, way * (i * step + gap / 2), way * (step - gap)),
  ).join('');
}

/** The deck's edge with the arrow of what happens to it: nobody has to think of threads. */
export function DeckGoes({ turn }: { turn: TurnPicture }) {
  const up = turn.way === 'raise';
  const [from, to] = up ? [150, 40] : [40, 150];
  return (
    <Drawing name="deck-goes" title={`The deck goes ${up ? 'up' : 'down'} here`} viewBox={[0, 0, 120, 190]}>
      <path
        class="arrow-shaft"
        d={path([
          [60, from],
          [60, to + (up ? 26 : -26)],
        ])}
      />
      <path class="solid" d={arrowHead(60, to - (up ? 16 : -16), 56, up ? 0 : 180)} />
      <path
        class="line thick"
        d={path([
          [8, 182],
          [112, 182],
        ])}
      />
    </Drawing>
  );
}

/** Where the person's eye is, by the deck: above and below in a side view, the others in a view from above. */
export function LookFrom({ seenFrom }: { seenFrom: TurnPicture['seenFrom'] }) {
  const fromSide = seenFrom === 'above' || seenFrom === 'below';
  const deg = EYE_AT[seenFrom];
  const [ex, ey] = onCircle(80, 80, 58, deg);
  const [tx, ty] = onCircle(80, 80, fromSide ? 18 : 34, deg);
  return (
    <Drawing name="look-from" title={`Look from ${seenFrom}`} viewBox={[0, 0, 160, 160]}>
      {fromSide ? (
        <rect class="shell-box" x={24} y={70} width={112} height={20} rx={6} />
      ) : (
        <g>
          <rect class="shell-box" x={46} y={50} width={68} height={60} rx={14} />
          <path class="solid" d={arrowHead(80, 54, 16, 0)} />
        </g>
      )}
      <g class="eye">
        <path class="line thick" d={path([onCircle(80, 80, 42, deg), [tx, ty]])} />
        <path class="solid" d={arrowHead(tx, ty, 14, deg + 180)} />
        <path
          class="line"
          d={`M${rounded(ex - 18)} ${rounded(ey)}Q${rounded(ex)} ${rounded(ey - 18)} ${rounded(ex + 18)} ${rounded(ey)}Q${rounded(ex)} ${rounded(ey + 18)} ${rounded(ex - 18)} ${rounded(ey)}Z`}
        />
        <circle class="solid" cx={rounded(ex)} cy={rounded(ey)} r={6} />
      </g>
    </Drawing>
  );
}

const EYE_AT: Record<TurnPicture['seenFrom'], number> = {
  above: 0,
  below: 180,
  'the front': 0,
  'the rear': 180,
  'the left': 270,
  'the right': 90,
};

export interface LiveTurn {
  /** 0 where the tip was, 1 at the mark. */
  readonly share: number;
  readonly text: string;
  /** Up or down on the screen, as the tip goes. */
  readonly goes: 'up' | 'down';
}

const BAR = { width: 220, height: 420, foot: 360, mark: 90 };

/** A bar that grows from the foot to a mark with a gap to stop in; past the mark it shows by shape, not by colour alone. */
export function LiveTurnBar({ live }: { live: LiveTurn }) {
  const share = Math.max(-0.15, Math.min(1.25, live.share));
  const { width, height, foot, mark } = BAR;
  const at = (s: number) => {
    const y = foot + (mark - foot) * s;
    return live.goes === 'up' ? y : height - y;
  };
  const [y0, y1] = [at(0), at(share)];
  return (
    <Drawing name="live-turn" title={live.text} viewBox={[0, 0, width, height]}>
      <rect
        class="track"
        x={70}
        y={rounded(Math.min(at(-0.15), at(1.25)))}
        width={80}
        height={rounded(Math.abs(at(1.25) - at(-0.15)))}
        rx={10}
      />
      <rect
        class={share > 1.04 ? 'way past' : 'way'}
        x={70}
        y={rounded(Math.min(y0, y1))}
        width={80}
        height={rounded(Math.abs(y1 - y0))}
      />
      <path
        class="line thick"
        d={path([
          [58, y0],
          [162, y0],
        ])}
      />
      <path
        class="mark"
        d={path([
          [30, at(1)],
          [190, at(1)],
        ])}
      />
      <path class="solid" d={arrowHead(66, at(1), 34, 90)} />
      <path class="solid" d={arrowHead(154, at(1), 34, 270)} />
      <path
        class="line thick now"
        d={path([
          [54, y1],
          [166, y1],
        ])}
      />
    </Drawing>
  );
}

export interface WhatToTurnProps extends Drawn {
  readonly turn: TurnPicture;
  readonly plan: DeckPlan;
  readonly fromFront: boolean;
}

/** Where, which way, how far, and how: read from left to right. The words for it are the question's. */
export function WhatToTurn({ turn, plan, fromFront, say }: WhatToTurnProps) {
  return (
    <section class="what-to-turn" aria-label={`What to turn: ${turn.adjuster}`}>
      <div class="where">
        <DeckFromAbove plan={plan} pointAt={turn.places} fromFront={fromFront} say={say} />
      </div>
      <div class="goes">
        <DeckGoes turn={turn} />
        <LookFrom seenFrom={turn.seenFrom} />
      </div>
      <div class="nut-box">
        <NutToTurn turn={turn} />
      </div>
    </section>
  );
}
