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

/** What a name means. Throws 403 where it means nothing. */
export function jobRef(named: string): { readonly job: number } | { readonly importedAs: number } {
  const imported = /^[Ff](\d{1,15})$/.exec(named)?.[1];
  return imported === undefined ? { job: jobNumber(named) } : { importedAs: Number(imported) };
}

/** Throws 266. A job of this log that does not exist has no events. */
export function findJob(log: LedgerReader, ref: ReturnType<typeof jobRef>): JobFound {
  if ('job' in ref) return { job: ref.job, events: log.events(ref.job) };
  const { events, writer, publicKey } = foreignJob(log, ref.importedAs);
  const job = events[0]?.event.job;
  if (job === undefined) throw numberedError('no such imported job', `F${ref.importedAs}`);
  return { job, events, foreign: { writer, fingerprint: fingerprintOf(publicKey) } };
}
