import type { JobEvent } from '../ledger/events';
import type { JobState } from '../procedure/state';

/** One job being worked: its state, and the one way to change it. */
export interface JobInHand {
  state(): JobState;
  /** Appends an event when the procedure admits it. Throws the refusal otherwise. */
  record(event: JobEvent): void;
}
