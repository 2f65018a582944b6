import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, expect, test } from 'vitest';
import { openLedgerForReading } from '../../../host/ledger/ledger';
import { Sql } from '../../../host/ledger/database';
import { KEY, WRITER, newFolder, open, turned, writeSample } from './sample-log';
import { startWriter } from './second-process';
import { refusal } from '../../refusal';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));

test('a second writer is refused with 251, readers are not, and a killed writer leaves no lock', async () => {
  const path = join(folder, 'held.swathplane-log');
  const written = writeSample(path);
  const holder = startWriter('hold', path, WRITER, join(folder, 'held.out'));
  await holder.printed(1);

  const startedMs = Date.now();
  const error = refusal(() => open(path));
  expect(error.number).toBe(251);
  expect(error.message).toContain('waited 1000 ms');
  expect(Date.now() - startedMs).toBeLessThan(3000);
  const reader = openLedgerForReading(path);
  expect(reader.events()).toEqual(written);
  expect(reader.verify().sequence).toBe(written.at(-1)?.sequence);
  reader.close();

  await holder.kill();
  const ledger = open(path);
  expect(ledger.append(turned(2, 1)).sequence).toBe(KEY + written.length + 1);
  ledger.close();
});

test('this process’s own second writer is refused too, and again free after close', () => {
  const path = join(folder, 'own.swathplane-log');
  const ledger = open(path);
  expect(refusal(() => open(path)).number).toBe(251);
  ledger.close();
  open(path).close();
});

test('a program that ignores the writer lock and holds the file: append says 251, then goes on with the chain intact', () => {
  const path = join(folder, 'rude.swathplane-log');
  const written = writeSample(path);
  const ledger = open(path);
  const rude = Sql.open(path, 0);
  rude.execute('BEGIN IMMEDIATE');
  expect(refusal(() => ledger.append(turned(2, 1))).number).toBe(251);
  rude.execute('ROLLBACK');
  ledger.append(turned(2, 1));
  expect(ledger.events().slice(0, -1)).toEqual(written);
  expect(ledger.verify().events).toBe(KEY + written.length + 1);
  ledger.close();
});

test('kill -9 of a writing process, eight times: every acknowledged event is there and the chain holds', async () => {
  const path = join(folder, 'killed.swathplane-log');
  let known: string[] = [];
  for (let round = 0; round < 8; round += 1) {
    const writer = startWriter('write', path, WRITER, join(folder, 'killed.out'));
    await writer.printed(5);
    await sleep(13 * round);
    await writer.kill();
    known = [...known, ...writer.lines()];

    const ledger = open(path);
    const stored = ledger.events().map((e) => `${e.sequence} ${e.hash}`);
    expect(stored).toEqual(expect.arrayContaining(known));
    expect(ledger.verify().events).toBe(KEY + stored.length);
    // At most the one event that was being written when the kill came is there without having been acknowledged.
    expect(stored.length - known.length).toBeLessThanOrEqual(1 + round);
    ledger.close();
  }
  console.log(`${known.length} acknowledged events over 8 kills, none lost`);
});
