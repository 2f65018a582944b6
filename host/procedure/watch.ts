/** A tip whose height is watched while something is done to the machine. */
import type { WatchTarget } from '../ledger/events';
import { fixtureFor } from './fixtures';
import { currentSetting, standing, type JobState } from './state';
import type { Task } from './task';

type Watched = Pick<WatchTarget, 'spindle' | 'headingDeg' | 'end'>;

/** Reads the watched tip, before or after. The fixture stays on it in between. */
export function watchReading(
  state: JobState,
  tip: Watched,
  during: WatchTarget['during'],
  when: WatchTarget['when'],
): Task {
  const seating = currentSetting(state)?.seatings.at(-1) ?? 0;
  const { placement, ...which } = fixtureFor(state, tip, seating);
  return {
    do: 'read',
    target: { kind: 'watch', ...tip, seating, placement, during, when },
    ...which,
    done: when === 'start' ? 0 : 1,
    of: 2,
  };
}

/** The height that was read of it since the deck was last seated; undefined while it was not. */
export function watchedHeightMm(
  state: JobState,
  during: WatchTarget['during'],
  when: WatchTarget['when'],
  spindle?: string,
): number | undefined {
  const seating = currentSetting(state)?.seatings.at(-1);
  const reading = standing(state).findLast(
    ({ target }) =>
      target.kind === 'watch' &&
      target.during === during &&
      target.when === when &&
      target.seating === seating &&
      (spindle === undefined || target.spindle === spindle),
  );
  return reading?.by === 'fixture' ? reading.capture.height / 1000 : undefined;
}
