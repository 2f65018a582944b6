/** A job as it is named on the command line: its number, or F and the number under which it was imported. */
import { numberedError } from '../errors/errors';
import { foreignJob } from '../ledger/export-job';
import type { LedgerReader } from '../ledger/ledger';
import { fingerprintOf } from '../ledger/keys';
import type { StoredEvent } from '../ledger/events';
import { jobNumber } from './job-number';

export interface JobFound {
  readonly job: number;
  readonly events: readonly StoredEvent[];
  /** Whose it is, where it was imported; every output says so. */
  readonly foreign?: { readonly writer: string; readonly fingerprint: string };
}

/** Throws 256, 266 and 403. */
export function findJob(log: LedgerReader, named: string): JobFound {
  const imported = /^[Ff](\d{1,15})$/.exec(named)?.[1];
  if (imported === undefined) {
    const job = jobNumber(named);
    return { job, events: log.events(job) };
  }
  const { events, writer, publicKey } = foreignJob(log, Number(imported));
  const job = events[0]?.event.job;
  if (job === undefined) throw numberedError('no such imported job', named);
  return { job, events, foreign: { writer, fingerprint: fingerprintOf(publicKey) } };
}
