import { foreignRecord, recordOf } from '../conduct/record-in-log';
import { numberedError } from '../errors/errors';
import { openLedgerForReading } from '../ledger/ledger';
import { recordPdf } from '../report/record';
import { recordJson, recordJsonSchema } from '../report/record-json';
import { jobRef } from './job-ref';
import { print, printJson, writeOut } from './output';

export interface RecordOptions {
  readonly log: string;
  readonly to?: string;
  readonly schema?: boolean;
  readonly json?: boolean;
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
