import { openLedgerForReading } from '../ledger/ledger';
import { sheetPdf } from '../report/sheet';
import { jobNumber } from './job-number';
import { print, printJson, writeOut } from './output';
import { viewOf } from './records';

export interface SheetOptions {
  readonly log: string;
  readonly to?: string;
  readonly json?: boolean;
}

export async function sheet(job: string, options: SheetOptions): Promise<number> {
  const number = jobNumber(job);
  const ledger = openLedgerForReading(options.log);
  try {
    const view = viewOf(ledger.events(number), number);
    const file = options.to ?? `records/job-${number}.pdf`;
    writeOut(file, await sheetPdf(view));
    if (options.json === true) printJson({ file });
    else print(`Sheet of job ${number}: ${file}`);
    return 0;
  } finally {
    ledger.close();
  }
}
