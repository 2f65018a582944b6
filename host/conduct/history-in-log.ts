/** Jobs of this log laid side by side: of a machine, a model, a technician or a fixture. */
import type { JobQuery, LedgerReader } from '../ledger/ledger';
import { historyJob, historyView, type HistoryOf, type HistoryView } from '../views/history-view';

/** What a log is asked for a history. */
export function historyQuery(of: HistoryOf, name: string): JobQuery {
  switch (of) {
    case 'serial number':
      return { serialNumber: name };
    case 'model':
      return { model: name };
    case 'technician':
      return { technician: name };
    case 'fixture':
      return { fixtureId: name };
  }
}

/** The newest `limit` jobs. Another shop's jobs, taken in from an export, have a chain of their own and stay out. */
export function historyInLog(
  ledger: Pick<LedgerReader, 'search' | 'events' | 'writer'>,
  of: HistoryOf,
  name: string,
  limit: number,
): HistoryView {
  const own = ledger
    .search({ ...historyQuery(of, name), limit })
    .filter((entry) => entry.foreign === undefined);
  return historyView(
    of,
    name,
    own.flatMap(({ job }) => historyJob(ledger.writer, ledger.events(job)) ?? []),
  );
}
