import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { openLedgerForReading } from '../../host/ledger/ledger';
import { exportedDemo, flipBytes } from './flips';
import { writeLargeLog } from './large-log';
import { storeFigures, storeText } from './store';

// A million events and the bars: `npm run prove -- store`. Here only that it measures what it says.
it(
  'the store proof’s log is one that the ledger itself accepts, and every search finds',
  { timeout: 120_000 },
  () => {
    const folder = mkdtempSync(join(tmpdir(), 'swathplane-store-'));
    const path = join(folder, 'small.swathplane-log');
    const jobs = writeLargeLog(path, 1000);
    const log = openLedgerForReading(path);
    expect(log.verify().events).toBe(1000);
    expect(log.jobs()).toHaveLength(jobs);
    log.close();
    rmSync(folder, { recursive: true });
    const figures = storeFigures(2000);
    console.log(storeText(figures).join('\n'));
    for (const { what, found } of figures.searches)
      if (what !== 'a day') expect(found, what).toBeGreaterThan(0);
    expect(figures.appendMedianMs).toBeGreaterThan(0);
  },
);

// Every byte without exception: `npm run prove -- flips`.
it('bytes of an exported job of the demo, changed by one bit, are found', { timeout: 120_000 }, () => {
  const { tried, missed } = flipBytes(exportedDemo(), { first: 0, every: 1999 });
  expect(tried).toBeGreaterThan(100);
  expect(missed).toEqual([]);
});
