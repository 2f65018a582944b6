/** The full record of a job as a log holds it, sealed as it stands there. */
import { numberedError } from '../errors/errors';
import { foreignJob } from '../ledger/export-job';
import { fingerprintOf } from '../ledger/keys';
import type { LedgerReader } from '../ledger/ledger';
import { recordView, type RecordView } from '../views/record-view';
import { sealView } from '../views/seal-view';

/** Of a job of this log. Errors: 252 and 256. */
export function recordOf(ledger: LedgerReader, job: number): RecordView {
  const events = ledger.events(job);
  const seal = ledger.seal(events.at(-1)?.sequence);
  const view = seal === undefined ? undefined : recordView(events, sealView(seal));
  if (view === undefined) throw numberedError('no such job', `job ${job}`);
  return view;
}

/** Of an imported job, with its own writer's signature. Errors: 266. */
export function foreignRecord(ledger: LedgerReader, importedAs: number): RecordView {
  const { events, writer, publicKey, seal } = foreignJob(ledger, importedAs);
  const view = recordView(events, sealView(seal));
  if (view === undefined) throw numberedError('no such imported job', `F${importedAs}`);
  const foreign = { writer, fingerprint: fingerprintOf(publicKey) };
  return { ...view, sheet: { ...view.sheet, foreign } };
}
