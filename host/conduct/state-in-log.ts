import { numberedError } from '../errors/errors';
import type { LedgerReader } from '../ledger/ledger';
import { replay, type JobState } from '../procedure/state';

/** A job as its events leave it. Throws 252 and 256. */
export function stateInLog(ledger: LedgerReader, job: number): JobState {
  const state = replay(ledger.events(job).map((e) => e.event));
  if (state === undefined) throw numberedError('no such job', `job ${job}`);
  return state;
}
