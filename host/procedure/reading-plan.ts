/** Which tips one setting of the adjusters is read at, in the order that costs the least clamping. */
import type { MachineProfile } from '../machines/profile';
import type { TipTarget, Setting } from './state';

export type Tip = Pick<TipTarget, 'spindle' | 'headingDeg' | 'end'>;

const QUARTERS = [0, 90, 180, -90];

/**
 * The first seating of a setting reads both ends of every blade, so that bend is known; every further seating only has
 * to show how the deck seats, so end A at the places that the measures name is enough.
 */
export function readingPlan(profile: MachineProfile, setting: Setting): Tip[] {
  const first = setting.seatings.length === 1;
  return profile.spindles.flatMap((spindle) => {
    const headings = first ? headingsToRead(profile, spindle.name) : declaredHeadings(profile, spindle.name);
    const along = (end: 'A' | 'B', order: number[]): Tip[] =>
      order.map((headingDeg) => ({ spindle: spindle.name, headingDeg, end }));
    // End B starts where end A stopped: the fixture changes ends and the blade stays.
    return first ? [...along('A', headings), ...along('B', [...headings].reverse())] : along('A', headings);
  });
}

/** The declared headings, filled up until the deck's plane and the spindle's tilt can be told apart as well as may be. */
function headingsToRead(profile: MachineProfile, spindle: string): number[] {
  const wanted = profile.spindles.length >= 3 ? 2 : profile.spindles.length === 2 ? 3 : 4;
  const chosen = declaredHeadings(profile, spindle);
  const free = QUARTERS.filter((h) => !isBlocked(profile, spindle, h));
  while (chosen.length < wanted) {
    const left = free.filter((h) => !chosen.some((c) => apartDeg(c, h) < 1));
    const next = left.sort((a, b) => nearestDeg(b, chosen) - nearestDeg(a, chosen))[0];
    if (next === undefined) break;
    chosen.push(next);
  }
  return chosen.sort((a, b) => a - b);
}

function declaredHeadings(profile: MachineProfile, spindle: string): number[] {
  const named = profile.measures.flatMap((m) => (m.what === 'tips' ? m.terms : []));
  const headings = named.filter((t) => t.spindle === spindle).map((t) => t.headingDeg);
  return [...new Set(headings)].sort((a, b) => a - b);
}

/** True when the fixture cannot reach this heading. Arcs run counter-clockwise from first to second value. */
export function isBlocked(profile: MachineProfile, spindleName: string, headingDeg: number): boolean {
  const arcs = profile.spindles.find((s) => s.name === spindleName)?.blockedArcsDeg ?? [];
  const turn = (deg: number) => ((deg % 360) + 360) % 360;
  return arcs.some(([from, to]) => turn(headingDeg - from) <= turn(to - from));
}

function apartDeg(a: number, b: number): number {
  const d = Math.abs(a - b) % 360;
  return Math.min(d, 360 - d);
}

function nearestDeg(heading: number, others: number[]): number {
  return Math.min(360, ...others.map((o) => apartDeg(o, heading)));
}
