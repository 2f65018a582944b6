/** The order in which a set of readings is taken: one clamping an end, little turning, and an end that is cheap to go on from. */
import { READING_COSTS, type ReadingCosts } from './design';
import type { Place } from './scene';
import type { Layout } from './layout';
import { toFloat } from './number';

/** What the order depends on: see `ReadingTask`. */
export interface Order {
  readonly layout: Layout;
  readonly places: readonly Place[];
  readonly costs?: ReadingCosts;
  readonly raisedToClamp?: boolean;
  readonly crankOf?: readonly number[];
}

export interface SequenceStep extends Place {
  /** The fixture is clamped anew; otherwise only the blade is turned. */
  readonly reclamp: boolean;
  readonly seconds: number;
}

const SAME_HEADING_DEG = 1;

/**
 * From left to right, both ends of a blade one after the other; the spindle and end of the place `last` come last, unless
 * it is -1. On blades that turn together a clamping begins with the heading at which they stand already, if it is wanted.
 */
export function inOrder(task: Order, design: readonly number[], last: number): SequenceStep[] {
  const costs = task.costs ?? READING_COSTS;
  const clamp = task.raisedToClamp === true ? costs.raiseClampS : costs.clampS;
  const steps: SequenceStep[] = [];
  const standing: number[] = [];
  for (let k = 0; k < task.layout.spindles.length; k++) standing.push(NaN);
  for (const { spindle, end } of endsInOrder(task, last)) {
    const crank = task.crankOf === undefined ? -1 : task.crankOf[spindle];
    const at = task.crankOf === undefined ? spindle : crank;
    const headings = headingsFrom(task, design, spindle, end, standing[at]);
    for (let i = 0; i < headings.length; i++) {
      const headingDeg = headings[i];
      const angle = markedEndDeg(headingDeg, end);
      // A blade that turns alone is turned while it is clamped; one that turns others with it takes its time.
      const turned = !(apartDeg(standing[at], angle) < SAME_HEADING_DEG) && !Number.isNaN(standing[at]);
      const turn = i > 0 || (crank >= 0 && turned) ? costs.turnS : 0;
      steps.push({
        spindle,
        headingDeg,
        end,
        reclamp: i === 0,
        seconds: toFloat((i === 0 ? clamp : 0) + turn + costs.captureS),
      });
      standing[at] = angle;
    }
  }
  return steps;
}

/** Seconds of a set of places in its order. */
export function secondsInOrder(task: Order, design: readonly number[]): number {
  let seconds = toFloat(0);
  if (task.crankOf !== undefined) {
    for (const step of inOrder(task, design, -1)) seconds += step.seconds;
    return seconds;
  }
  const costs = task.costs ?? READING_COSTS;
  const clamp = task.raisedToClamp === true ? costs.raiseClampS : costs.clampS;
  for (let i = 0; i < design.length; i++) {
    const { spindle, end } = task.places[design[i]];
    let first = true;
    for (let j = 0; j < i; j++) {
      const other = task.places[design[j]];
      if (other.spindle === spindle && other.end === end) first = false;
    }
    seconds += (first ? clamp : costs.turnS) + costs.captureS;
  }
  return seconds;
}

/** Smallest angle between two headings, in degrees. */
export function apartDeg(a: number, b: number): number {
  const difference = Math.abs(toFloat(a) - b);
  const rest = difference - 360 * Math.floor(difference / 360);
  return rest > 180 ? 360 - rest : rest;
}

function endsInOrder(task: Order, last: number): { spindle: number; end: 1 | -1 }[] {
  const spindles: number[] = [];
  for (let k = 0; k < task.layout.spindles.length; k++) {
    // Insertion by y, the leftmost first; spindles abreast keep the order of the layout.
    let at = spindles.length;
    while (at > 0 && task.layout.spindles[spindles[at - 1]].yMm < task.layout.spindles[k].yMm) at -= 1;
    spindles.splice(at, 0, k);
  }
  const late = last < 0 ? undefined : task.places[last];
  const ends: { spindle: number; end: 1 | -1 }[] = [];
  for (const spindle of spindles) {
    if (late === undefined || spindle !== late.spindle) {
      ends.push({ spindle, end: 1 });
      ends.push({ spindle, end: -1 });
    }
  }
  if (late !== undefined) {
    ends.push({ spindle: late.spindle, end: late.end === 1 ? -1 : 1 });
    ends.push({ spindle: late.spindle, end: late.end });
  }
  return ends;
}

/** Headings of a clamping, ascending or descending, beginning near where the blade stands. */
function headingsFrom(
  task: Order,
  design: readonly number[],
  spindle: number,
  end: 1 | -1,
  standing: number,
): number[] {
  const up: number[] = [];
  for (const index of design) {
    const place = task.places[index];
    if (place.spindle === spindle && place.end === end) {
      let at = up.length;
      while (at > 0 && up[at - 1] > place.headingDeg) at -= 1;
      up.splice(at, 0, place.headingDeg);
    }
  }
  if (up.length === 0 || Number.isNaN(standing)) return up;
  let nearest = 0;
  for (let i = 1; i < up.length; i++) {
    const here = apartDeg(markedEndDeg(up[i], end), standing);
    if (here < apartDeg(markedEndDeg(up[nearest], end), standing)) nearest = i;
  }
  const turned: number[] = [];
  for (let i = 0; i < up.length; i++) turned.push(up[(nearest + i) % up.length]);
  return turned;
}

/** Where the marked end A points when a blade end points to a heading. */
function markedEndDeg(headingDeg: number, end: 1 | -1): number {
  return end === 1 ? toFloat(headingDeg) : toFloat(headingDeg) + 180;
}
