/** A job's record is put right by further events; nothing that was written is changed. */
import { numberedError } from '../errors/errors';
import type { JobEvent } from '../ledger/events';
import type { Ledger } from '../ledger/ledger';
import { refusal } from '../procedure/admit';
import { apply, replay, type JobState } from '../procedure/state';

/** Appends the events, all or none. Throws 256 and what the procedure or the log refuses. */
export function putRight(ledger: Ledger, job: number, events: readonly JobEvent[]): JobState {
  const before = replay(ledger.events(job).map((e) => e.event));
  if (before === undefined) throw numberedError('no such job', `job ${job}`);
  // Each as it would be after those before it: nothing is written unless all may be.
  const after = events.reduce((state, event) => {
    const refused = refusal(state, event);
    if (refused !== undefined) throw refused;
    return apply(state, event);
  }, before);
  for (const event of events) ledger.append(event);
  return after;
}
