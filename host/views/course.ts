/** What of a job's course a record has to tell besides its readings: corrections, people, parts, overrides. */
import type { JobEvent, StoredEvent } from '../ledger/events';
import type { JobState } from '../procedure/state';
import { PART_WORDS } from './task-text';
import { headingText, timeText } from './words';

/** One line each, oldest first, with its time. Empty where everything went its usual way. */
export function courseLines(events: readonly Pick<StoredEvent, 'at' | 'event'>[]): string[] {
  const answered = new Set<string>();
  return events.flatMap(({ at, event }) => {
    const said = courseText(event, answered);
    return said === undefined ? [] : [`${timeText(at)}: ${said}`];
  });
}

/** Parts that were tested or replaced, as lines. */
export function partLines(state: JobState): string[] {
  const decided = state.settings.flatMap((s) =>
    s.decided.map(({ spindle, part, answer }) => {
      if (part === 'good blade on trial')
        return answer === 'swapped'
          ? `${spindle}: a blade known to be good was put on`
          : `${spindle}: no blade was swapped`;
      const what = PART_WORDS[part];
      return `${spindle} ${what}: ${answer === 'replaced' ? 'replaced' : 'not replaced in this job'}`;
    }),
  );
  const refits = state.settings.flatMap((s) =>
    (s.refits ?? []).map(({ spindle, answer }) =>
      answer === 'not now'
        ? `${spindle} blade: not refitted`
        : `${spindle} blade: refitted half a turn round, to tell blade from shaft`,
    ),
  );
  const plays = state.plays.map(({ spindle, heightsMm }) =>
    heightsMm === undefined
      ? `${spindle} blade: not pushed and pulled`
      : `${spindle} blade pushed and pulled: its tip moved by ${(heightsMm[1] - heightsMm[0]).toFixed(2)} mm`,
  );
  return [...refits, ...plays, ...decided];
}

/** Only what departs from the usual course. `answered` holds the items that have an answer by now. */
function courseText(event: JobEvent, answered: Set<string>): string | undefined {
  switch (event.type) {
    case 'prepared':
    case 'claim stated': {
      const key = event.type === 'prepared' ? event.item : event.field;
      const again = answered.has(key);
      answered.add(key);
      return again ? `${key}: answered again, in place of what was said before` : undefined;
    }
    case 'restored':
      return `capture ${event.capture} counts again: ${event.reason}`;
    case 'tip corrected':
      return `capture ${event.capture} was of the ${event.spindle} blade, end ${event.end}, pointing ${headingText(event.headingDeg)}`;
    case 'turn corrected':
      return `${event.adjuster}: ${event.turns} turns were really made`;
    case 'clamped anew':
      return `step ${event.step}: the fixture was clamped anew`;
    case 'handed over':
      return `handed over to ${event.to}`;
    case 'ruler taken up':
      return `no fixture: read with a ruler from here on, U ${event.expandedMm} mm`;
    case 'fixture lost':
      return `fixture ${event.fixtureId} was not to be heard`;
    case 'fixture accounted for':
      return `${event.by} has fixture ${event.fixtureId} in hand, off the machine: ${event.reason}`;
    case 'levelling offered':
      return event.answer === 'level it now' ? 'levelled in the same job' : undefined;
    case 'given up':
      return `given up: ${event.reason}`;
    case 'job reopened':
      return `opened again by ${event.by}: ${event.reason}`;
    default:
      return undefined;
  }
}
