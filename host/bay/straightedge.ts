/**
 * What a straightedge says of a floor that nobody surveyed: the cheapest way to know it at all.
 *
 * The floor is taken as normal heights that are alike over a metre. Under 2 m of straightedge on two equal blocks, in the
 * worst of three lines, such a floor shows a range whose root mean square is 0.91 of its standard deviation and which
 * differs from floor to floor by 40 % (drawn 4,000 times; `tests/unit/bay/straightedge.test.ts` draws them again). A width
 * known to 40 % of itself has 3 degrees of freedom (GUM G.4.2); what is assumed of floors that look flat has 2.
 */
import { ASSUMED_WIDTHS } from '../gauging/widths';
import type { Item } from '../machines/checklist';

/** The published slab's five lines have deviations of 1.0 to 2.8 mm, differing by half of their mean (tests/reference/floor.test.ts). */
export const ASSUMED_FLOOR_DEGREES_OF_FREEDOM = 2;
const STRAIGHTEDGE_DEGREES_OF_FREEDOM = 3;
const RANGE_PER_DEVIATION = 0.91;

/** Asked where a job knows nothing of its floor. 5 mm under 2 m is what floors of ordinary finish are built to (BS 8204-1, class SR2; from memory). */
export const STRAIGHTEDGE_ITEM: Item = {
  id: 'floor-straightedge',
  text: 'Straightedge of 2 m on two equal blocks along both wheel tracks and across under the deck: widest gap less narrowest, of the worst line',
  number: { unit: 'mm', lower: 0, upper: 5 },
};

/** How the floor counts by what a straightedge showed, as the end of a sentence about its unevenness. */
export function straightedgeText(rangeMm: number): string {
  return `counts as ${floorWidth(rangeMm).floorMm.toFixed(1)} mm, by a straightedge that showed ${rangeMm.toFixed(1)} mm`;
}

export interface FloorWidth {
  readonly floorMm: number;
  readonly degreesOfFreedom: number;
}

/** Pools what is assumed of a floor with what the straightedge showed of this one; undefined: none was laid. */
export function floorWidth(rangeMm: number | undefined): FloorWidth {
  const assumedMm = ASSUMED_WIDTHS.floorMm.value;
  const assumed = ASSUMED_FLOOR_DEGREES_OF_FREEDOM;
  if (rangeMm === undefined) return { floorMm: assumedMm, degreesOfFreedom: assumed };
  const degreesOfFreedom = assumed + STRAIGHTEDGE_DEGREES_OF_FREEDOM;
  const shownMm = rangeMm / RANGE_PER_DEVIATION;
  const squares = assumed * assumedMm ** 2 + STRAIGHTEDGE_DEGREES_OF_FREEDOM * shownMm ** 2;
  return { floorMm: Math.sqrt(squares / degreesOfFreedom), degreesOfFreedom };
}
