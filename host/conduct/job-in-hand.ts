import type { JobEvent } from '../ledger/events';
import type { Ledger } from '../ledger/ledger';
import type { LinkOptions } from '../link/link';
import { refusal } from '../procedure/admit';
import { apply, type JobState } from '../procedure/state';
import { stateInLog } from './state-in-log';

/** One job being worked: its state, and the two ways to change it. */
export interface JobInHand {
  state(): JobState;
  /** Appends an event when the procedure admits it. Throws the refusal otherwise. */
  record(event: JobEvent): void;
  /** Keeps a capture in the log. */
  readonly keep: LinkOptions['keep'];
}

/** Takes a job of the log in hand; `changed` hears its state now and after every event. Throws 252 and 256. */
export function takeInHand(ledger: Ledger, job: number, changed: (state: JobState) => void): JobInHand {
  let state = stateInLog(ledger, job);
  changed(state);
  const goOnWith = (event: JobEvent) => {
    state = apply(state, event);
    changed(state);
  };
  return {
    state: () => state,
    record: (event) => {
      const refused = refusal(state, event);
      if (refused !== undefined) throw refused;
      ledger.append(event);
      goOnWith(event);
    },
    keep: (capture, { fixtureId }) => {
      const event = { type: 'captured', job, fixtureId, capture } as const;
      const kept = ledger.keepCapture(event);
      if (kept === 'kept') goOnWith(event);
      return kept;
    },
  };
}
