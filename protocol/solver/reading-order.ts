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
  readonly cranks?: readonly Crank[];
}

/** What a blade turns with. Blades with one number share a crank angle and never move against one another. */
export interface Crank {
  readonly number: number;
  /** Where the blade's marked end A points while the crank's angle is 0. */
  readonly offsetDeg: number;
  /** 1: heading and crank angle grow together; -1: geared to turn the other way. */
  readonly sense: 1 | -1;
}

export interface SequenceStep extends Place {
  /** The fixture is clamped anew; otherwise only the blade is turned. */
  readonly reclamp: boolean;
  readonly seconds: number;
}

const SAME_HEADING_DEG = 1;

/**
 * From left to right, both ends of a blade one after the other; the spindle and end of the place `last` come last, unless
 * it is -1. On blades that turn together a clamping begins with the heading at which its blade stands already, if it is
 * wanted: each stands at its own offset from the crank that they share, so two readings need no turn in between when, and
 * only when, they ask for one crank angle.
 */
export function inOrder(task: Order, design: readonly number[], last: number): SequenceStep[] {
  const costs = task.costs ?? READING_COSTS;
  const clamp = task.raisedToClamp === true ? costs.raiseClampS : costs.clampS;
  const steps: SequenceStep[] = [];
  const standing: number[] = [];
  for (let k = 0; k < task.layout.spindles.length; k++) standing.push(NaN);
  for (const { spindle, end } of endsInOrder(task, last)) {
    const shared = task.cranks !== undefined;
    const crank = crankFor(task, spindle);
    const headings = headingsFrom(task, design, spindle, end, standing[crank.number]);
    for (let i = 0; i < headings.length; i++) {
      const headingDeg = headings[i];
      const angle = crankDeg(crank, headingDeg, end);
      const stood = standing[crank.number];
      // A blade that turns alone is turned while it is clamped; one that turns others with it takes its time.
      const turned = !(apartDeg(stood, angle) < SAME_HEADING_DEG) && !Number.isNaN(stood);
      const turn = i > 0 || (shared && turned) ? costs.turnS : 0;
      steps.push({
        spindle,
        headingDeg,
        end,
        reclamp: i === 0,
        seconds: toFloat((i === 0 ? clamp : 0) + turn + costs.captureS),
      });
      standing[crank.number] = angle;
    }
  }
  return steps;
}

/** Seconds of a set of places in its order. */
export function secondsInOrder(task: Order, design: readonly number[]): number {
  let seconds = toFloat(0);
  if (task.cranks !== undefined) {
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
  const crank = crankFor(task, spindle);
  let nearest = 0;
  for (let i = 1; i < up.length; i++) {
    const here = apartDeg(crankDeg(crank, up[i], end), standing);
    if (here < apartDeg(crankDeg(crank, up[nearest], end), standing)) nearest = i;
  }
  const turned: number[] = [];
  for (let i = 0; i < up.length; i++) turned.push(up[(nearest + i) % up.length]);
  return turned;
}

/** A blade that turns by itself is its own crank. */
function crankFor(task: Order, spindle: number): Crank {
  return task.cranks === undefined
    ? { number: spindle, offsetDeg: toFloat(0), sense: 1 }
    : task.cranks[spindle];
}

/** Angle of the crank at which a blade end points to a heading. */
function crankDeg({ offsetDeg, sense }: Crank, headingDeg: number, end: 1 | -1): number {
  const markedEndDeg = end === 1 ? toFloat(headingDeg) : toFloat(headingDeg) + 180;
  return sense * (markedEndDeg - offsetDeg);
}
