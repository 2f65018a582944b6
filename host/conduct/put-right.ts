/** A job's record is put right by further events; nothing that was written is changed. */
import type { JobEvent } from '../ledger/events';
import type { Ledger } from '../ledger/ledger';
import { refusal } from '../procedure/admit';
import { apply, type JobState } from '../procedure/state';
import { stateInLog } from './state-in-log';

/** Appends the events, all or none. Throws 256 and what the procedure or the log refuses. */
export function putRight(ledger: Ledger, job: number, events: readonly JobEvent[]): JobState {
  // Each as it would be after those before it: nothing is written unless all may be.
  const after = events.reduce(
    (state, event) => {
      const refused = refusal(state, event);
      if (refused !== undefined) throw refused;
      return apply(state, event);
    },
    stateInLog(ledger, job),
  );
  for (const event of events) ledger.append(event);
  return after;
}
