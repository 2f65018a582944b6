import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openLedgerForReading, type JobQuery, type LedgerReader } from '../../../host/ledger/ledger';
import { Sql } from '../../../host/ledger/database';
import { newFolder, open, opened } from '../../faults/ledger/sample-log';
import { refusal } from '../../refusal';

const folder = newFolder();
const path = join(folder, 'search.swathplane-log');
let log: LedgerReader;

beforeAll(() => {
  const ledger = open(path);
  for (const job of [1, 2, 3]) ledger.append(opened(job));
  ledger.append({ type: 'handed over', job: 2, to: 'Ola "Half" Nobody_1' });
  ledger.append({ type: 'prepared', job: 3, item: 'note', answer: { noted: 'Rost am Träger 100%' } });
  ledger.append({ type: 'claim stated', job: 1, field: 'complaint', text: 'Ärger mit Streifen' });
  ledger.append({ type: 'claim stated', job: 1, field: 'cause', text: 'bent hanger' });
  ledger.append({ type: 'job closed', job: 1, decision: 'pass' });
  ledger.append({ type: 'job closed', job: 2, decision: 'fail' });
  ledger.append({ type: 'job reopened', job: 2, by: 'Ola', reason: 'owner came back' });
  ledger.close();
  log = openLedgerForReading(path);
});
afterAll(() => {
  log.close();
  rmSync(folder, { recursive: true });
});

const day = () => log.jobs()[0]?.at.slice(0, 10) ?? '';

test.each<[string, JobQuery | (() => JobQuery), number[]]>([
  ['everything, newest first', {}, [3, 2, 1]],
  ['the newest two', { limit: 2 }, [3, 2]],
  ['a serial number, large or small', { serialNumber: 'qb-2' }, [2]],
  ['part of a serial number is not one', { serialNumber: 'QB' }, []],
  ['a model', { model: 'quellbeck 133' }, [3, 2, 1]],
  ['a work order with a serial number', { workOrder: 'W 17', serialNumber: 'QB-3' }, [3]],
  ['a technician who took it over', { technician: 'Ola "Half" Nobody_1' }, [2]],
  ['part of a technician is not one', { technician: 'Ola' }, []],
  ['a sign that SQL takes for any', { technician: 'Ola "Half" NobodyX1' }, []],
  ['words of a note', { text: 'träger 100%' }, [3]],
  ['a per cent sign is itself', { text: '%' }, [3]],
  ['words of the customer, kept apart', { text: 'ärger' }, [1]],
  ['words of the shop', { text: 'bent hang' }, [1]],
  ['why it was opened again', { text: 'owner came' }, [2]],
  ['the day', () => ({ from: day(), to: day() }), [3, 2, 1]],
  ['a day before', { to: '2025-12-31' }, []],
  ['a day after', { from: '2030-01-01' }, []],
])('%s', (_what, query, jobs) => {
  const found = log.search(typeof query === 'function' ? query() : query);
  expect(found.map((entry) => entry.job)).toEqual(jobs);
});

test('an entry says how the job stands now', () => {
  expect(log.jobs().map((entry) => entry.decision)).toEqual(['pass', undefined, undefined]);
  expect(log.jobs()[1]?.technicians).toEqual(['A. Nobody', 'Ola "Half" Nobody_1']);
});

test('a list that was changed by hand is found, although the chain is whole', () => {
  const hand = Sql.open(path, 1000);
  hand.execute("UPDATE jobs SET decision = 'fail' WHERE job = 1");
  const error = refusal(() => log.verify());
  hand.execute("UPDATE jobs SET decision = 'pass' WHERE job = 1");
  hand.close();
  expect(error.number).toBe(252);
  expect(error.message).toContain('job 1');
  expect(log.verify().events).toBe(11);
});
