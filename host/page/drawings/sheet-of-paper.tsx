/** What every drawing is drawn on: an SVG that says in words what it shows, for those who cannot see it. */
import type { ComponentChildren } from 'preact';

export interface Drawn {
  /** Formats a length in the units on the screen, without the unit. */
  readonly say: (mm: number) => string;
}

/** Left, top, width and height in the drawing's own units. */
export type ViewBox = readonly [left: number, top: number, width: number, height: number];

export function Drawing(props: {
  readonly title: string;
  readonly viewBox: ViewBox;
  readonly name: string;
  readonly children: ComponentChildren;
}) {
  return (
    <svg
      xmlns="http://www.w3.org/2000/svg"
      role="img"
      aria-label={props.title}
      class={`drawing ${props.name}`}
      viewBox={props.viewBox.map(rounded).join(' ')}
    >
      {props.children}
    </svg>
  );
}

/** To a tenth, so that a drawing stays small and equal drawings are equal text. */
export function rounded(value: number): number {
  return Math.round(value * 10) / 10 + 0;
}

/** "M 1 2 L 3 4 ..." */
export function path(points: readonly (readonly [number, number])[], closed = false): string {
  const steps = points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${rounded(x)} ${rounded(y)}`);
  return steps.join('') + (closed ? 'Z' : '');
}

/** Part of a circle about (x, y); angles in degrees clockwise on the screen, 0 upward; negative sweep: the other way. */
export function arc(x: number, y: number, radius: number, fromDeg: number, sweepDeg: number): string {
  const [x1, y1] = onCircle(x, y, radius, fromDeg);
  const [x2, y2] = onCircle(x, y, radius, fromDeg + sweepDeg);
  const large = Math.abs(sweepDeg) > 180 ? 1 : 0;
  const r = rounded(radius);
  return `M${rounded(x1)} ${rounded(y1)}A${r} ${r} 0 ${large} ${sweepDeg > 0 ? 1 : 0} ${rounded(x2)} ${rounded(y2)}`;
}

export function onCircle(x: number, y: number, radius: number, deg: number): [number, number] {
  const angle = (deg * Math.PI) / 180;
  return [x + radius * Math.sin(angle), y - radius * Math.cos(angle)];
}

/** The head of an arrow whose point is at (x, y) and which flies toward `deg` (clockwise on the screen, 0 upward). */
export function arrowHead(x: number, y: number, size: number, deg: number): string {
  const left = onCircle(x, y, size, deg + 180 - 28);
  const right = onCircle(x, y, size, deg + 180 + 28);
  return path([[x, y], left, right], true);
}

/** An arc that ends in an arrow head: the head lies along the circle. */
export function TurningArrow(props: {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly fromDeg: number;
  readonly sweepDeg: number;
  readonly head: number;
  readonly name: string;
}) {
  const { x, y, radius, fromDeg, sweepDeg, head } = props;
  const way = Math.sign(sweepDeg);
  const headDeg = ((head * 0.9) / radius) * (180 / Math.PI);
  const end = fromDeg + sweepDeg;
  const [px, py] = onCircle(x, y, radius, end);
  // The chord of the last piece is the way the arrow flies.
  const flies = end + way * (90 - headDeg / 2);
  return (
    <g class={props.name}>
      <path class="line" d={arc(x, y, radius, fromDeg, sweepDeg - way * headDeg)} />
      <path class="solid" d={arrowHead(px, py, head, flies)} />
    </g>
  );
}
