/** A small exported job for the tests that hurt it, and what can be done to its lines. */
import { join } from 'node:path';
import { exportJob } from '../../../host/ledger/export-job';
import { readKey } from '../../../host/ledger/keys';
import { programOf } from '../../../host/ledger/program';
import { captured, open, opened, turned } from '../../faults/ledger/sample-log';

export interface SmallExport {
  readonly path: string;
  readonly text: string;
}

/** Events of another job stand between those of this one; there is a key change, a text and a solver in it. */
export function smallExport(folder: string, name: string): SmallExport {
  const path = join(folder, `${name}.swathplane-log`);
  const ledger = open(path);
  ledger.append(turned(2, 1));
  ledger.append(opened(1));
  ledger.noteSolver(1, programOf('var solver = { rejudge: () => "null" };'));
  ledger.append({ type: 'claim stated', job: 1, field: 'complaint', text: 'Streifen, „breit“' });
  ledger.append({ type: 'deck seated', job: 1, seating: 1 });
  ledger.append(captured(1, 7));
  ledger.append(turned(2, 2));
  ledger.changeKey('trial');
  ledger.append(turned(1, 0.5));
  ledger.append({ type: 'job closed', job: 1, decision: 'undecided' });
  const options = { key: readKey(path), at: '2026-01-02T09:00:00.000Z', customer: true };
  const text = exportJob(ledger, 1, options);
  ledger.close();
  return { path, text };
}
