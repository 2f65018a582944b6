/**
 * The deck from above, to scale: one unit of the drawing is one millimetre. Front up, or turned by half a turn for somebody
 * who stands at the front; labels stay upright. The wanted tip is a numbered diamond on a drawn blade, taken ones are
 * numbered discs with their height.
 */
import type { DeckMarks, DeckPlan, Place, TakenTip, WantedTip } from '../../views/deck-plan';
import { arrowHead, Drawing, onCircle, path, rounded, TurningArrow, type Drawn } from './sheet-of-paper';

export interface DeckFromAboveProps extends Drawn {
  readonly plan: DeckPlan;
  readonly marks?: DeckMarks;
  /** Somebody stands at the front and looks at the machine. */
  readonly fromFront?: boolean;
  /** An adjuster to point at. */
  readonly pointAt?: readonly Place[];
}

type Spindle = DeckPlan['spindles'][number];

/** Where things come to stand on the screen. */
interface Placing {
  readonly at: (place: Place) => [x: number, y: number];
  /** Degrees clockwise on the screen, 0 upward, of a heading counted counter-clockwise from forward. */
  readonly screenDeg: (headingDeg: number) => number;
  /** Size of ordinary letters. */
  readonly letter: number;
}

export function DeckFromAbove({ plan, marks, fromFront = false, pointAt, say }: DeckFromAboveProps) {
  const { extent, wheelMm } = plan;
  const front = extent.frontXMm + wheelMm.length / 2;
  const rear = extent.rearXMm - wheelMm.length / 2;
  const left = extent.leftYMm + wheelMm.width / 2;
  const right = extent.rightYMm - wheelMm.width / 2;
  const letter = Math.max(front - rear, left - right) / 30;
  const sign = fromFront ? 1 : -1;
  const placing: Placing = {
    at: ({ xMm, yMm }) => [sign * yMm, sign * xMm],
    screenDeg: (headingDeg) => (fromFront ? 180 : 0) - headingDeg,
    letter,
  };
  const margin = 2.2 * letter;
  const [x, y] = fromFront ? [right, rear] : [-left, -front];
  const middle = x + (left - right) / 2;
  const ends = fromFront ? ['rear', 'front: you stand here'] : ['front', 'rear'];
  const sides = fromFront ? ['right', 'left'] : ['left', 'right'];
  return (
    <Drawing
      name="deck-from-above"
      title={titleOf(plan, marks, fromFront, say)}
      viewBox={[x - margin, y - margin, left - right + 2 * margin, front - rear + 2 * margin]}
    >
      <g class="faint">
        <path
          class="solid"
          d={
            fromFront
              ? arrowHead(middle, y + front - rear + 2.1 * letter, 0.7 * letter, 180)
              : arrowHead(middle, y - 2 * letter, 0.8 * letter, 0)
          }
        />
        <Word x={middle} y={y - 0.35 * letter} size={letter} text={ends[0]} />
        <Word x={middle} y={y + front - rear + 1.2 * letter} size={letter} text={ends[1]} />
        <Word x={x - margin + 0.3 * letter} y={y - letter} size={letter} text={sides[0]} anchor="start" />
        <Word
          x={x + left - right + margin - 0.3 * letter}
          y={y - letter}
          size={letter}
          text={sides[1]}
          anchor="end"
        />
      </g>
      <Shell plan={plan} placing={placing} />
      {plan.wheels.map((wheel) => (
        <Wheel key={wheel.name} place={wheel} size={wheelMm} placing={placing} />
      ))}
      {plan.spindles.map((spindle) => (
        <BladeCircle
          key={spindle.name}
          spindle={spindle}
          placing={placing}
          isNamed={![...(marks?.taken ?? []), marks?.wanted].some((t) => t?.spindle === spindle.name)}
        />
      ))}
      {plan.hangers.map((hanger) => (
        <Support
          key={hanger.name}
          support={hanger}
          placing={placing}
          adjusts={plan.adjusters.some((a) =>
            a.places.some((p) => p.xMm === hanger.xMm && p.yMm === hanger.yMm),
          )}
        />
      ))}
      {marks?.wanted && <PointedBlade tip={marks.wanted} plan={plan} placing={placing} />}
      {marks?.taken
        .filter((t) => !isSamePlace(t, marks.wanted))
        .map((tip) => (
          <Taken key={tip.number} tip={tip} placing={placing} say={say} />
        ))}
      {marks?.wanted && <Wanted tip={marks.wanted} placing={placing} />}
      {pointAt?.map((place, i) => (
        <Pointer key={i} place={place} placing={placing} />
      ))}
    </Drawing>
  );
}

function titleOf(
  plan: DeckPlan,
  marks: DeckMarks | undefined,
  fromFront: boolean,
  say: Drawn['say'],
): string {
  const blades = `${plan.spindles.length} ${plan.spindles.length === 1 ? 'blade' : 'blades'}`;
  const turned = fromFront ? 'seen by somebody who stands at the front' : 'front up';
  const wanted =
    marks?.wanted === undefined ? '' : ` Wanted: tip ${marks.wanted.number}, ${marks.wanted.spindle} blade.`;
  const taken = (marks?.taken ?? []).map(
    (t) => ` Tip ${t.number}, ${t.spindle} blade: ${t.ends.map((e) => say(e.heightMm)).join(' and ')}.`,
  );
  return `${plan.model} from above, ${turned}, ${blades}.${wanted}${taken.join('')}`;
}

export function Word(props: {
  readonly x: number;
  readonly y: number;
  readonly size: number;
  readonly text: string;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly name?: string;
}) {
  return (
    <text
      x={rounded(props.x)}
      y={rounded(props.y)}
      font-size={rounded(props.size)}
      text-anchor={props.anchor ?? 'middle'}
      {...(props.name === undefined ? {} : { class: props.name })}
    >
      {props.text}
    </text>
  );
}

/** Without an outline in the profile: what the blade circles need, with room to turn. */
function Shell({ plan, placing }: { plan: DeckPlan; placing: Placing }) {
  return (
    <g class="shell">
      {plan.spindles.map((spindle) => {
        const [cx, cy] = placing.at(spindle);
        const r = rounded(spindle.tipRadiusMm + 0.7 * placing.letter);
        return <circle key={spindle.name} cx={rounded(cx)} cy={rounded(cy)} r={r} />;
      })}
      {plan.skirt.map((side, i) => (
        <path key={i} class="line" d={path(side.map((p) => placing.at(p)))} />
      ))}
    </g>
  );
}

function Wheel(props: { place: Place; size: DeckPlan['wheelMm']; placing: Placing }) {
  const [x, y] = props.placing.at(props.place);
  const { width, length } = props.size;
  return (
    <rect
      class="wheel"
      x={rounded(x - width / 2)}
      y={rounded(y - length / 2)}
      width={width}
      height={length}
      rx={width / 4}
    />
  );
}

/** Circle, middle, the way it turns, and the headings that cannot be reached as a comb of ticks. */
function BladeCircle(props: { spindle: Spindle; placing: Placing; isNamed: boolean }) {
  const { spindle, placing, isNamed } = props;
  const { letter } = placing;
  const [x, y] = placing.at(spindle);
  const r = spindle.tipRadiusMm;
  const way = spindle.rotation === 'clockwise' ? 1 : -1;
  return (
    <g class="blade-circle">
      <circle class="line" cx={rounded(x)} cy={rounded(y)} r={rounded(r)} />
      {isNamed && <path class="line" d={cross(x, y, 0.35 * letter)} />}
      {arrowsAt(spindle, placing).map((deg) => (
        <TurningArrow
          key={deg}
          name="rotation"
          x={x}
          y={y}
          radius={0.84 * r}
          fromDeg={deg - way * 14}
          sweepDeg={way * 28}
          head={0.55 * letter}
        />
      ))}
      {spindle.blockedArcsDeg.map(([from, to], i) => (
        <path key={i} class="blocked line" d={comb(x, y, r, placing, from, to)} />
      ))}
      {isNamed && <Word x={x} y={y + 1.35 * letter} size={0.85 * letter} text={spindle.name} name="faint" />}
    </g>
  );
}

function cross(x: number, y: number, arm: number): string {
  return (
    path([
      [x - arm, y],
      [x + arm, y],
    ]) +
    path([
      [x, y - arm],
      [x, y + arm],
    ])
  );
}

/** Where on the circle the arrows of rotation stand, on the screen: clear of what cannot be reached, if they can be. */
function arrowsAt({ blockedArcsDeg }: Spindle, placing: Placing): readonly [number, number] {
  const isFree = (deg: number) =>
    blockedArcsDeg.every(([from, to]) => {
      const [start, end] = [placing.screenDeg(from), placing.screenDeg(to)];
      // On the screen an arc runs clockwise from its end to its start.
      return turned(deg - end) > turned(start - end) + ARROW_DEG && turned(end - deg) > ARROW_DEG;
    });
  return [45, 225].every(isFree) ? [45, 225] : [135, 315];
}

const ARROW_DEG = 20;
const turned = (deg: number) => ((deg % 360) + 360) % 360;

function comb(x: number, y: number, r: number, placing: Placing, fromDeg: number, toDeg: number): string {
  const span = (((toDeg - fromDeg) % 360) + 360) % 360;
  const ticks = Math.max(2, Math.round(span / 6));
  return Array.from({ length: ticks + 1 }, (_, i) => {
    const deg = placing.screenDeg(fromDeg + (span * i) / ticks);
    return path([onCircle(x, y, 0.72 * r, deg), onCircle(x, y, r, deg)]);
  }).join('');
}

/** Square: carries. With a hexagon about it: its adjuster is here. A rounded box stands on the ground. */
function Support(props: { support: DeckPlan['hangers'][number]; placing: Placing; adjusts: boolean }) {
  const [x, y] = props.placing.at(props.support);
  const s = 0.26 * props.placing.letter;
  return (
    <g class="support">
      <rect
        class="solid"
        x={rounded(x - s)}
        y={rounded(y - s)}
        width={rounded(2 * s)}
        height={rounded(2 * s)}
        rx={props.support.kind === 'stands' ? rounded(s) : 0}
      />
      {props.adjusts && <path class="line" d={hexagon(x, y, 0.62 * props.placing.letter)} />}
    </g>
  );
}

export function hexagon(x: number, y: number, radius: number): string {
  return path(
    [0, 60, 120, 180, 240, 300].map((deg) => onCircle(x, y, radius, deg)),
    true,
  );
}

function Taken({ tip, placing, say }: { tip: TakenTip; placing: Placing; say: Drawn['say'] }) {
  const { letter } = placing;
  const [x, y] = placing.at(tip);
  const r = 0.72 * letter;
  const [dx, dy] = onCircle(0, 0, 1, placing.screenDeg(tip.headingDeg) + 180);
  const isAcross = Math.abs(dx) > Math.abs(dy);
  const lines = tip.ends.flatMap((e) => [
    { text: say(e.heightMm), size: letter, name: 'strong' },
    ...(e.offMm === undefined ? [] : [{ text: offText(e.offMm, say), size: 0.72 * letter, name: 'faint' }]),
  ]);
  const height = lines.reduce((sum, l) => sum + 1.08 * l.size, 0);
  const textX = x + dx * (r + 0.25 * letter);
  let textY = isAcross ? y - height / 2 : dy > 0 ? y + r + 0.1 * letter : y - r - 0.1 * letter - height;
  return (
    <g class="taken">
      <circle class="disc" cx={rounded(x)} cy={rounded(y)} r={rounded(r)} />
      <Word x={x} y={y + 0.3 * letter} size={0.85 * letter} text={`${tip.number}`} name="on-disc" />
      {lines.map((line, i) => {
        textY += 1.08 * line.size;
        return (
          <Word
            key={i}
            x={textX}
            y={textY - 0.2 * line.size}
            size={line.size}
            text={line.text}
            anchor={isAcross ? (dx > 0 ? 'start' : 'end') : 'middle'}
            name={line.name}
          />
        );
      })}
    </g>
  );
}

function offText(offMm: number, say: Drawn['say']): string {
  return `off ${offMm < 0 ? '−' : '+'}${say(Math.abs(offMm))}`;
}

/** The blade as it is to be pointed. */
function PointedBlade({ tip, plan, placing }: { tip: WantedTip; plan: DeckPlan; placing: Placing }) {
  const spindle = plan.spindles.find((s) => s.name === tip.spindle);
  if (spindle === undefined) return null;
  const [hubX, hubY] = placing.at(spindle);
  const far = onCircle(hubX, hubY, spindle.tipRadiusMm, placing.screenDeg(tip.headingDeg) + 180);
  return (
    <g class="wanted">
      <path class="blade" stroke-width={rounded(0.5 * placing.letter)} d={path([placing.at(tip), far])} />
    </g>
  );
}

/** A numbered diamond on the tip, larger than everything else. */
function Wanted({ tip, placing }: { tip: WantedTip; placing: Placing }) {
  const { letter } = placing;
  const [x, y] = placing.at(tip);
  const diamond = [0, 90, 180, 270].map((turn) => onCircle(x, y, 1.4 * letter, turn));
  return (
    <g class="wanted tip">
      <path class="solid" d={path(diamond, true)} />
      <Word x={x} y={y + 0.45 * letter} size={1.3 * letter} text={`${tip.number}`} name="on-wanted" />
    </g>
  );
}

function Pointer({ place, placing }: { place: Place; placing: Placing }) {
  const { letter } = placing;
  const [x, y] = placing.at(place);
  return (
    <g class="wanted">
      <circle class="line" cx={rounded(x)} cy={rounded(y)} r={rounded(1.9 * letter)} />
      <path class="solid" d={hexagon(x, y, 1.1 * letter)} />
    </g>
  );
}

function isSamePlace(tip: TakenTip, wanted: WantedTip | undefined): boolean {
  return wanted !== undefined && tip.number === wanted.number;
}
