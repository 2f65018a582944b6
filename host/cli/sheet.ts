import { openLedgerForReading } from '../ledger/ledger';
import { sheetPdf } from '../report/sheet';
import { findJob, jobRef } from './job-ref';
import { print, printJson, writeOut } from './output';
import { viewOf } from './records';

export interface SheetOptions {
  readonly log: string;
  readonly to?: string;
  readonly json?: boolean;
}

export async function sheet(job: string, options: SheetOptions): Promise<number> {
  const ref = jobRef(job);
  const ledger = openLedgerForReading(options.log);
  try {
    const { job: number, events, foreign } = findJob(ledger, ref);
    const view = { ...viewOf(events, number), ...(foreign === undefined ? {} : { foreign }) };
    const file = options.to ?? `records/job-${job}.pdf`;
    writeOut(file, await sheetPdf(view));
    if (options.json === true) printJson({ file });
    else print(`Sheet of job ${number}: ${file}`);
    return 0;
  } finally {
    ledger.close();
  }
}
