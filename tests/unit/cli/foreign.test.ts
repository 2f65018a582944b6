import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { record } from '../../../host/cli/record';
import { records } from '../../../host/cli/records';
import { openLedger } from '../../../host/ledger/ledger';
import { importJob } from '../../../host/ledger/export-job';
import { newFolder, tickingClock } from '../../faults/ledger/sample-log';
import { smallExport } from '../ledger/exported';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));

test('an imported job has records of its own, which say that it is foreign, with its writer’s signature', async () => {
  const { text, path } = smallExport(folder, 'theirs');
  writeFileSync(join(folder, 'theirs.swathplane-job'), text);
  const log = join(folder, 'mine.swathplane-log');
  const mine = openLedger(log, { writer: 'my bay', now: tickingClock() });
  const number = importJob(mine, Buffer.from(text), 'it', 'Ola');
  mine.close();
  const to = join(folder, 'foreign.pdf');
  expect(await record(`F${number}`, { log, to, json: true })).toBe(0);
  const written = JSON.parse(readFileSync(join(folder, 'foreign.json'), 'utf8')) as {
    readonly seal: { readonly writer: string; readonly key: { readonly signature: string } };
  };
  expect(written.seal.writer).toBe('bay one (invented)');
  expect(text).toContain(written.seal.key.signature);
  expect(await records(`F${number}`, { log })).toBe(0);
  expect(path).not.toBe(log);
});
