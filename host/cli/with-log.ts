/** Opens a log for as long as something is done with it. */
import { dirname } from 'node:path';
import { openLedger, openLedgerForReading, type Ledger, type LedgerReader } from '../ledger/ledger';
import { makeFolder } from './output';

/** `bay` is the name of the writer. Errors: those of the log. */
export function writing<T>(options: { log: string; bay: string }, use: (ledger: Ledger) => T): T {
  makeFolder(dirname(options.log));
  const ledger = openLedger(options.log, { writer: options.bay, now: () => new Date() });
  try {
    return use(ledger);
  } finally {
    ledger.close();
  }
}

/** Errors: 405 and those of the log. */
export function reading<T>(options: { log: string }, use: (ledger: LedgerReader) => T): T {
  const ledger = openLedgerForReading(options.log);
  try {
    return use(ledger);
  } finally {
    ledger.close();
  }
}
