/** Bays as a log knows them: the newest survey of each, the turn-rounds since, and the one that a job stands on. */
import type { BayOfJob } from '../bay/known-floor';
import type { Ledger, LedgerReader } from '../ledger/ledger';

/** In the order first surveyed. A turn-round before the newest survey no longer counts. */
export function baysInLog(ledger: LedgerReader, on: string): BayOfJob[] {
  const bays = new Map<string, BayOfJob>();
  for (const event of ledger.shopEvents()) {
    if (event.type === 'bay surveyed') {
      bays.set(event.bay.name, { bay: event.bay, on, turnRounds: [] });
    } else if (event.type === 'bay turned round') {
      const known = bays.get(event.bayName);
      if (known !== undefined) bays.set(event.bayName, { ...known, turnRounds: event.sums });
    }
  }
  return [...bays.values()];
}

/**
 * Writes down where the job is measured: the bay of this name, or the only one that the log knows. Without one nothing is
 * written, and the job says that its floor was not surveyed.
 */
export function chooseBay(ledger: Ledger, job: number, name: string, on: string): BayOfJob | undefined {
  const bays = baysInLog(ledger, on);
  const chosen = bays.find((b) => b.bay.name === name) ?? (bays.length === 1 ? bays[0] : undefined);
  if (chosen !== undefined) ledger.append({ type: 'bay chosen', job, ...chosen });
  return chosen;
}
