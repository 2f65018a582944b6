import { copyFileSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { NumberedError } from '../../../host/errors/errors';
import { openLedgerForReading } from '../../../host/ledger/ledger';
import { CHAIN_START, chainHash } from '../../../host/ledger/chain';
import { readKey } from '../../../host/ledger/keys';
import { Sql } from '../../../host/ledger/database';
import type { StoredEvent } from '../../../host/ledger/events';
import { LAYOUT_VERSION } from '../../../host/ledger/layout';
import { KEY, WRITER, captured, newFolder, open, turned, writeSample } from './sample-log';
import { refusal } from '../../refusal';

const folder = newFolder();
/** Events of jobs in the sample. */
const SAMPLE = 82;
const good = join(folder, 'good.swathplane-log');
const hurt = join(folder, 'hurt.swathplane-log');
let written: StoredEvent[];

beforeAll(() => {
  written = writeSample(good);
});
afterAll(() => rmSync(folder, { recursive: true }));

function freshCopy(): void {
  for (const side of ['-wal', '-shm', '-writer']) rmSync(hurt + side, { force: true });
  copyFileSync(good, hurt);
  copyFileSync(`${good}-key`, `${hurt}-key`);
}

/** Reads the log in every way there is. */
function readAll(path: string): StoredEvent[] {
  const log = openLedgerForReading(path);
  try {
    log.verify();
    log.jobs();
    log.highestCapture('fixture-7');
    return [...log.events(1), ...log.events(2)];
  } finally {
    log.close();
  }
}

describe('bytes that changed on the disk', () => {
  const generator = xoroshiro128plus(20260102);

  function damagedCopy(): void {
    freshCopy();
    const bytes = readFileSync(good);
    for (let i = uniformInt(generator, 1, 8); i > 0; i -= 1) {
      bytes[uniformInt(generator, 0, bytes.length - 1)] = uniformInt(generator, 0, 255);
    }
    writeFileSync(hurt, bytes);
  }

  /** How many of 150 damaged copies were refused by number; any other error, and any wrong event, fails the test. */
  function refusals(use: () => StoredEvent[]): number {
    let refused = 0;
    for (let trial = 0; trial < 150; trial += 1) {
      damagedCopy();
      try {
        expect(use()).toEqual(written);
      } catch (error) {
        if (!(error instanceof NumberedError)) throw error;
        expect([252, 253, 255]).toContain(error.number);
        refused += 1;
      }
    }
    return refused;
  }

  test('read: refused by number, or every event as it was written', () => {
    const refused = refusals(() => readAll(hurt));
    console.log(`reading: ${refused} of 150 damaged logs refused`);
    // Most of the file is text of events: damage that passes must lie in free space.
    expect(refused).toBeGreaterThan(100);
  });

  test('written on: refused by number, or every event as it was written with the new one after them', () => {
    const refused = refusals(() => {
      const ledger = open(hurt);
      try {
        ledger.append(turned(2, 1));
        ledger.keepCapture(captured(2, 99));
        ledger.verify();
        const events = ledger.events();
        expect(events.slice(SAMPLE).map((e) => e.event)).toEqual([turned(2, 1), captured(2, 99)]);
        return events.slice(0, SAMPLE);
      } finally {
        ledger.close();
      }
    });
    console.log(`writing: ${refused} of 150 damaged logs refused`);
    expect(refused).toBeGreaterThan(100);
  });
});

describe('rows that were changed by hand', () => {
  // The sample has 83 events; each case says which one is the first bad one.
  const swap = `UPDATE events SET sequence = -1 WHERE sequence = 30;
    UPDATE events SET sequence = 30 WHERE sequence = 31; UPDATE events SET sequence = 31 WHERE sequence = -1`;
  test.each([
    [
      'a number in an event',
      "UPDATE events SET event = replace(event, '75123', '75124') WHERE sequence = 39",
      'event 39',
    ],
    [
      'the time of an event',
      "UPDATE events SET at = '2026-01-02T08:00:00.000Z' WHERE sequence = 41",
      'event 41',
    ],
    ['white space in an event', "UPDATE events SET event = event || ' ' WHERE sequence = 42", 'event 42'],
    [
      'a hash',
      "UPDATE events SET hash = replace(hash, substr(hash, 1, 1), 'x') WHERE sequence = 43",
      'event 43',
    ],
    [
      'an event that is no JSON',
      `DROP INDEX capture_once; DROP INDEX of_job; DROP INDEX of_session; DROP INDEX of_shop;
        UPDATE events SET event = substr(event, 2) WHERE sequence = 3`,
      'event 3',
    ],
    [
      'a text that is not UTF-8',
      "UPDATE events SET at = CAST(x'ff' AS TEXT) WHERE sequence = 44",
      'event 44',
    ],
    ['an event taken out', 'DELETE FROM events WHERE sequence = 50', 'event 50'],
    ['the first event taken out', 'DELETE FROM events WHERE sequence = 1', 'event 1'],
    ['the last event taken out', 'DELETE FROM events WHERE sequence = 83', '83 events were written'],
    ['all events taken out', 'DELETE FROM events', '83 events were written'],
    ['two events in each other’s place', swap, 'event 30'],
    [
      'an event put in',
      `INSERT INTO events (at, previous, job_previous, event, hash, signature)
        SELECT at, previous, job_previous, event, hash, signature FROM events WHERE sequence = 3`,
      'event 84',
    ],
    ['another writer', "UPDATE writer SET name = 'bay two'", 'event 1 '],
    ['no writer', 'DELETE FROM writer', 'names 0 writers'],
    ['a table taken out', 'DROP TABLE events', 'no such table'],
  ])('%s', (_what, sql, named) => {
    freshCopy();
    const hand = Sql.open(hurt, 1000);
    // The unique index would not let a copied capture in.
    if (sql.startsWith('INSERT')) hand.execute('DROP INDEX capture_once');
    hand.execute(sql);
    hand.prepare('PRAGMA wal_checkpoint(TRUNCATE)').all();
    hand.close();
    const error = refusal(() => readAll(hurt));
    expect(error.number).toBe(252);
    expect(error.message).toContain(named);
    expect(error.nextStep).toContain('keep the file');
  });

  test('a bad end is refused at opening and the file stays as it is', () => {
    freshCopy();
    const hand = Sql.open(hurt, 1000);
    hand.execute("UPDATE events SET at = '2026-01-02T08:00:00.000Z' WHERE sequence = 83");
    hand.prepare('PRAGMA wal_checkpoint(TRUNCATE)').all();
    hand.close();
    const before = digest(hurt);
    expect(refusal(() => open(hurt)).number).toBe(252);
    expect(digest(hurt)).toBe(before);
  });
});

describe('files that are no log of this version', () => {
  test('a newer layout: 253, not a byte changed and nothing put beside it', () => {
    freshCopy();
    const bytes = readFileSync(good);
    bytes.writeUInt32BE(LAYOUT_VERSION + 1, 60);
    writeFileSync(hurt, bytes);
    const before = digest(hurt);
    for (const work of [() => open(hurt), () => openLedgerForReading(hurt)]) {
      const error = refusal(work);
      expect(error.number).toBe(253);
      expect(error.message).toContain(`layout ${LAYOUT_VERSION + 1}`);
    }
    expect(digest(hurt)).toBe(before);
    expect(readdirSync(folder).filter((name) => name.startsWith('hurt'))).toEqual([
      'hurt.swathplane-log',
      'hurt.swathplane-log-key',
    ]);
  });

  test('a newer type of event in a log whose hashes hold: 253', () => {
    const path = join(folder, 'newer.swathplane-log');
    open(path).close();
    const reader = openLedgerForReading(path);
    const previous = reader.verify().head;
    reader.close();
    const chained = {
      writer: WRITER,
      sequence: 2,
      at: '2026-01-02T18:00:00.000Z',
      previous,
      jobPrevious: CHAIN_START,
      eventJson: '{"job":1,"type":"polished"}',
    };
    const hash = chainHash(chained);
    const newer = Sql.open(path, 1000);
    newer
      .prepare(
        'INSERT INTO events (sequence, at, previous, job_previous, event, hash, signature) VALUES (2, ?, ?, ?, ?, ?, ?)',
      )
      .run(chained.at, previous, CHAIN_START, chained.eventJson, hash, readKey(path).sign(hash));
    newer.close();
    expect(refusal(() => openLedgerForReading(path).events()).number).toBe(253);
    expect(refusal(() => open(path)).number).toBe(253);
  });

  test.each([
    ['a text', Buffer.from('no log at all, only a text that is longer than the header of one. '.repeat(4))],
    ['a log cut off in its header', Buffer.from('SQLite format 3\0')],
    ['another program’s SQLite file', Buffer.concat([Buffer.from('SQLite format 3\0'), Buffer.alloc(4080)])],
  ])('%s: 252 and left alone', (_what, bytes) => {
    freshCopy();
    writeFileSync(hurt, bytes);
    expect(refusal(() => open(hurt)).number).toBe(252);
    expect(refusal(() => openLedgerForReading(hurt)).number).toBe(252);
    expect(readFileSync(hurt)).toEqual(bytes);
  });

  test('no file: reading says 405, writing makes one', () => {
    const path = join(folder, 'new.swathplane-log');
    expect(refusal(() => openLedgerForReading(path)).number).toBe(405);
    open(path).close();
    expect(openLedgerForReading(path).verify()).toMatchObject({ events: KEY, sequence: KEY });
  });
});

function digest(path: string): string {
  return createHash('sha256').update(readFileSync(path)).digest('hex');
}
