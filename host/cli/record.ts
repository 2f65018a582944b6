import { numberedError } from '../errors/errors';
import { foreignJob } from '../ledger/export-job';
import { fingerprintOf } from '../ledger/keys';
import { openLedgerForReading, type LedgerReader } from '../ledger/ledger';
import { recordPdf } from '../report/record';
import { recordJson, recordJsonSchema } from '../report/record-json';
import { recordView, type RecordView } from '../views/record-view';
import { sealView } from '../views/seal-view';
import { jobRef } from './job-ref';
import { print, printJson, writeOut } from './output';

export interface RecordOptions {
  readonly log: string;
  readonly to?: string;
  readonly schema?: boolean;
  readonly json?: boolean;
}

/** The full record of a job of this log. Errors: 252 and 256. */
export function recordOf(ledger: LedgerReader, job: number): RecordView {
  const events = ledger.events(job);
  const seal = ledger.seal(events.at(-1)?.sequence);
  const view = seal === undefined ? undefined : recordView(events, sealView(seal));
  if (view === undefined) throw numberedError('no such job', `job ${job}`);
  return view;
}

/** The same of an imported job, with its own writer's signature. Errors: 266. */
function foreignRecord(ledger: LedgerReader, importedAs: number): RecordView {
  const { events, writer, publicKey, seal } = foreignJob(ledger, importedAs);
  const view = recordView(events, sealView(seal));
  if (view === undefined) throw numberedError('no such imported job', `F${importedAs}`);
  const foreign = { writer, fingerprint: fingerprintOf(publicKey) };
  return { ...view, sheet: { ...view.sheet, foreign } };
}

/** Writes the full record as PDF and, beside it, as JSON. Errors: 256, 403, 404 and those of the log. */
export async function record(job: string | undefined, options: RecordOptions): Promise<number> {
  if (options.schema === true) {
    printJson(recordJsonSchema());
    return 0;
  }
  if (job === undefined) throw numberedError('command not understood', 'the number of a job is wanted');
  const ref = jobRef(job);
  const ledger = openLedgerForReading(options.log);
  try {
    const started = performance.now();
    const view = 'job' in ref ? recordOf(ledger, ref.job) : foreignRecord(ledger, ref.importedAs);
    const pdf = options.to ?? `records/job-${job}-record.pdf`;
    const json = `${pdf.replace(/\.pdf$/i, '')}.json`;
    const bytes = await recordPdf(view);
    const milliseconds = Math.round(performance.now() - started);
    writeOut(pdf, bytes);
    writeOut(json, Buffer.from(`${JSON.stringify(recordJson(view), undefined, 1)}\n`));
    const readings = view.readings.length;
    if (options.json === true) printJson({ pdf, json, readings, milliseconds });
    else
      print(
        `Full record of job ${job}: ${pdf} and ${json} (${readings} readings, PDF in ${milliseconds} ms)`,
      );
    return 0;
  } finally {
    ledger.close();
  }
}
