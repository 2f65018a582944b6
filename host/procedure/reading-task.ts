/** What the solver is told of a machine to say which of its tips to read: places, limits, costs. */
import type { Crank, Layout, Place, ReadingTask } from '../../protocol/solver';
import { edgesFor, headFor } from '../gauging/height-master';
import { knownMaster } from '../gauging/known';
import type { MachineProfile } from '../machines/profile';
import { measureQuestions } from './assess';
import { jobWidths } from './job-widths';
import type { JobState } from './state';

const QUARTERS = [0, 90, 180, -90];
/** Mean that a job's captures wait for. */
const STANDARD_ERROR_MM = 0.02;

/** A job's reading task on the floor that its bay is known to have. */
export function readingTask(
  state: Pick<JobState, 'profile'> &
    Partial<Pick<JobState, 'readingCosts' | 'plate' | 'instruments' | 'prepared'>>,
  layout: Layout,
): ReadingTask {
  const { profile, readingCosts } = state;
  const { lowMm, highMm } = edgesFor(knownMaster(state.instruments, ''), headFor(profile.cutHeightMm));
  const cranks = cranksOf(profile);
  return {
    layout,
    widths: jobWidths(state, (lowMm + highMm) / 2),
    questions: measureQuestions(profile),
    places: placesOf(profile),
    standardErrorMm: STANDARD_ERROR_MM,
    ...(readingCosts === undefined ? {} : { costs: readingCosts }),
    ...(cranks === undefined ? {} : { cranks }),
  };
}

/** Both ends of every blade at the headings that measures name and at the quarters, as far as the fixture reaches. */
export function placesOf(profile: MachineProfile): Place[] {
  return profile.spindles.flatMap(({ name }, spindle) =>
    [...new Set([...declaredHeadings(profile, name), ...QUARTERS])]
      .filter((headingDeg) => !isBlocked(profile, name, headingDeg))
      .flatMap((headingDeg) => ([1, -1] as const).map((end) => ({ spindle, headingDeg, end }))),
  );
}

/** Headings at which the measures of a profile name a spindle's tips, ascending. */
export function declaredHeadings(profile: MachineProfile, spindle: string): number[] {
  const named = profile.measures.flatMap((m) => (m.what === 'tips' ? m.terms : []));
  const headings = named.filter((t) => t.spindle === spindle).map((t) => t.headingDeg);
  return [...new Set(headings)].sort((a, b) => a - b);
}

/**
 * True when the fixture cannot reach this heading. Arcs run counter-clockwise from first to second value; they are those of
 * a fixture on the cutting edge, so which way the blade runs is in them already.
 */
export function isBlocked(profile: MachineProfile, spindleName: string, headingDeg: number): boolean {
  const arcs = profile.spindles.find((s) => s.name === spindleName)?.blockedArcsDeg ?? [];
  const turn = (deg: number) => ((deg % 360) + 360) % 360;
  return arcs.some(([from, to]) => turn(headingDeg - from) <= turn(to - from));
}

/** Upper and lower blade of a stacked cross stand square to one another. */
const CROSS_DEG = 90;

/** Blades that turn together: all of a timed deck, and the two of a stacked cross. Undefined when each turns by itself. */
function cranksOf({ spindles, timedDeck }: MachineProfile): Crank[] | undefined {
  if (timedDeck === true) {
    const first = spindles[0]?.rotation;
    return spindles.map(({ timedOffsetDeg = 0, rotation }) => ({
      number: 0,
      offsetDeg: timedOffsetDeg,
      sense: rotation === first ? 1 : -1,
    }));
  }
  if (spindles.every((s) => s.stackedOn === undefined)) return undefined;
  return spindles.map(({ stackedOn }, i) => {
    const lower = spindles.findIndex((other) => other.name === stackedOn?.spindle);
    return { number: lower < 0 ? i : lower, offsetDeg: lower < 0 ? 0 : CROSS_DEG, sense: 1 };
  });
}
