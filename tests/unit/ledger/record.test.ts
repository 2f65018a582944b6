/** What verification finds beyond hashes and signatures: texts and photos beside the chain, fixtures' numbers, the clock, heads. */
import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import type { JobEvent, LogEvent } from '../../../host/ledger/events';
import { exportJob } from '../../../host/ledger/export-job';
import { FixtureRows } from '../../../host/ledger/fixture-rows';
import { readKey } from '../../../host/ledger/keys';
import { openLedger, openLedgerForReading, type Ledger } from '../../../host/ledger/ledger';
import { keepPhoto, photoOf, photoPath } from '../../../host/ledger/photos';
import { verifyLog, type VerifyOptions } from '../../../host/ledger/verify';
import { Sql } from '../../../host/ledger/database';
import { WRITER, captured, newFolder, open, opened, turned } from '../../faults/ledger/sample-log';
import { refusal } from '../../refusal';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));
let logs = 0;
const newPath = () => join(folder, `${(logs += 1)}.swathplane-log`);

function verified(path: string, options: Partial<VerifyOptions> = {}) {
  const log = openLedgerForReading(path);
  try {
    return verifyLog(log, { rejudge: false, programOf: () => undefined, ...options });
  } finally {
    log.close();
  }
}

function written(work: (ledger: Ledger, path: string) => void): string {
  const path = newPath();
  const ledger = open(path);
  ledger.append(opened(1));
  work(ledger, path);
  ledger.close();
  return path;
}

describe('texts that name a customer', () => {
  const NAME = 'Immaterial Nobody';
  const stated = () =>
    written((ledger) => {
      // Enough rows that pages are split, which leaves old bytes behind.
      for (let i = 0; i < 60; i += 1)
        ledger.append({
          type: 'customer stated',
          job: 2,
          field: 'note',
          text: `note ${i} ${'x'.repeat(90)}`,
        });
      ledger.append({ type: 'customer stated', job: 1, field: 'name', text: NAME });
      ledger.append({ type: 'claim stated', job: 1, field: 'complaint', text: `${NAME} sees streaks` });
    });

  test('are given back to the job, found by a search, and stand nowhere in the chain', () => {
    const path = stated();
    const log = openLedgerForReading(path);
    expect(log.events(1)[1]?.event).toMatchObject({ type: 'customer stated', text: NAME });
    expect(log.search({ text: 'immaterial' }).map((e) => e.job)).toEqual([1]);
    expect(log.rawEvents(0, 100).some((e) => e.eventJson.includes(NAME))).toBe(false);
    log.close();
    expect(verified(path)).toMatchObject({ faults: [], open: [] });
  });

  test('deleted: gone from the bytes of every file, the record verifies and says so', () => {
    const path = stated();
    expect(readFileSync(path).includes(NAME)).toBe(true);
    const ledger = open(path);
    const kept = ledger.keptTexts(1).map((t) => t.sha256);
    expect(kept).toHaveLength(2);
    const event = { type: 'deleted', job: 1, what: 'customer', by: 'Ola', reason: 'asked to' } as const;
    ledger.deleteTexts({ ...event, sha256s: kept });
    for (const side of ['', '-wal']) expect(readFileSync(path + side).includes(NAME)).toBe(false);
    ledger.close();
    expect(readFileSync(path).includes(NAME)).toBe(false);
    const found = verified(path);
    expect(found).toMatchObject({ faults: [], open: [] });
    expect(found.notes.join()).toContain('deleted');
    const log = openLedgerForReading(path);
    expect(log.events(1)[1]?.event).toMatchObject({ text: '(deleted)' });
    expect(log.search({ text: 'immaterial' })).toEqual([]);
    log.close();
  });

  test.each([
    ['taken out by hand', 'DELETE FROM texts', 'missing'],
    ['changed by hand', "UPDATE texts SET text = 'somebody else'", 'not the one that was signed'],
    ['another salt', `UPDATE texts SET salt = '${'0'.repeat(64)}'`, 'not the one that was signed'],
  ])('%s: found', (_what, sql, said) => {
    const path = stated();
    const hand = Sql.open(path, 1000);
    hand.execute(sql);
    hand.close();
    expect(verified(path).faults.join()).toContain(said);
  });
});

describe('photos', () => {
  const PICTURE = Buffer.from('89504e470d0a1a0a00000000', 'hex');

  test('stand beside the log by their hash; changed, missing and deleted ones are told apart', () => {
    const photo = photoOf(PICTURE, 'a.png');
    const path = written((ledger, at) => {
      keepPhoto(at, photo, PICTURE);
      ledger.append({ type: 'photo attached', job: 1, ...photo, by: 'Ola' });
    });
    const file = photoPath(path, photo);
    expect(verified(path).faults).toEqual([]);
    writeFileSync(file, Buffer.concat([PICTURE, Buffer.from('x')]));
    expect(verified(path).faults.join()).toContain('not the one that was signed');
    rmSync(file);
    expect(verified(path).faults.join()).toContain('missing');
    const ledger = open(path);
    ledger.deleteTexts({
      type: 'deleted',
      job: 1,
      what: 'photos',
      sha256s: [photo.sha256],
      by: 'Ola',
      reason: '',
    });
    ledger.close();
    expect(verified(path).faults).toEqual([]);
    expect(existsSync(file)).toBe(false);
  });

  test('anything else than a picture: 264', () => {
    expect(refusal(() => photoOf(Buffer.from('GIF89a'), 'a.gif')).number).toBe(264);
  });
});

describe('the row of a fixture', () => {
  const joined = (bootCount: number): LogEvent =>
    ({
      type: 'fixture joined',
      job: 1,
      fixture: { fixtureId: 'fixture-7', bootCount },
    }) as unknown as LogEvent;
  const taken = (capture: number, bootCount = 3): LogEvent => {
    const event = captured(1, capture);
    return { ...event, capture: { ...event.capture, bootCount } };
  };
  const elsewhere: LogEvent = { type: 'captures elsewhere', fixtureId: 'fixture-7', captures: [3, 4] };
  const restarted: LogEvent = { type: 'fixture restarted', job: 1, fixtureId: 'fixture-7', bootCount: 4 };
  const restored: LogEvent = { type: 'log restored', from: 9, nextJob: 9, by: '' };

  test.each<[string, LogEvent[], string]>([
    ['without a gap', [joined(3), taken(1), taken(2), taken(3)], ''],
    ['a gap', [joined(3), taken(2), taken(5), taken(7)], 'captures 3 to 4, 6 are missing'],
    ['a gap filled later', [joined(3), taken(1), taken(3), taken(2)], ''],
    ['a gap that is explained', [joined(3), taken(2), taken(5), elsewhere], ''],
    ['a gap over a restoration', [joined(3), taken(2), restored, joined(3), taken(9)], ''],
    ['a gap after a restoration', [taken(2), restored, taken(9), taken(12)], '10 to 11'],
    ['a start that nothing tells of', [joined(3), taken(1), taken(2, 4)], 'capture 2 is of start 4'],
    ['a start that is told', [joined(3), taken(1), restarted, taken(2, 4)], ''],
    ['a start that is told after its first capture', [joined(3), taken(1), taken(2, 4), restarted], ''],
    ['starts that go back', [joined(5), taken(1, 5), taken(2, 4)], 'capture 2 is of start 4, the one before'],
  ])('%s', (_what, events, said) => {
    const rows = new FixtureRows();
    for (const event of events) rows.see(event);
    if (said === '') expect(rows.unexplained()).toEqual([]);
    else expect(rows.unexplained().join('; ')).toContain(said);
  });
});

describe('the clock', () => {
  const DAY_MS = 86_400_000;

  test('set back by a day: an event says so, nothing is lost, everything verifies', () => {
    const path = newPath();
    let nowMs = Date.UTC(2026, 0, 2, 8);
    const ledger = openLedger(path, { writer: WRITER, now: () => new Date((nowMs += 1000)) });
    ledger.append(opened(1));
    nowMs -= DAY_MS;
    ledger.append(turned(1, 1));
    nowMs -= 1500;
    ledger.append(turned(1, 2));
    ledger.close();
    const log = openLedgerForReading(path);
    const types = log.rawEvents(0, 10).map((e) => (JSON.parse(e.eventJson) as JobEvent).type);
    log.close();
    expect(types).toEqual(['key made', 'job opened', 'clock stepped', 'turned', 'turned']);
    const found = verified(path);
    expect(found.faults).toEqual([]);
    expect(found.notes.join()).toContain('the clock went back from 2026-01-02');
  });
});

describe('a head that a sheet carries', () => {
  test('is in the log, or the log is cut off, or rebuilt', () => {
    const path = written((ledger) => ledger.append(turned(1, 1)));
    const log = openLedgerForReading(path);
    const head = log.seal(2);
    log.close();
    if (head === undefined) throw new Error('no head');
    const { sequence, hash } = head;
    expect(verified(path, { head: { sequence, hash: hash.slice(0, 16) } }).faults).toEqual([]);
    expect(verified(path, { head: { sequence: 99, hash } }).faults.join()).toContain('cut off');
    expect(verified(path, { head: { sequence: 3, hash } }).faults.join()).toContain('rebuilt');
    const other = { writer: WRITER, sequence, hash };
    expect(verified(path, { seen: [other] }).faults).toEqual([]);
    expect(verified(path, { seen: [{ ...other, hash: '0' }] }).faults.join()).toContain('rebuilt');
    expect(verified(path, { seen: [{ ...other, sequence: 99 }] }).faults.join()).toContain('cut off');
    expect(verified(path, { fingerprint: head.fingerprint.slice(0, 16) }).faults).toEqual([]);
    expect(verified(path, { fingerprint: 'ffff' }).faults.join()).toContain('not with the one given');
  });
});

test('a job without texts that were not asked for is exported without them', () => {
  const path = written((ledger) => {
    ledger.append({ type: 'customer stated', job: 1, field: 'name', text: 'Nobody' });
    ledger.append({ type: 'claim stated', job: 1, field: 'complaint', text: 'streaks' });
  });
  const log = openLedgerForReading(path);
  const out = (customer: boolean) =>
    exportJob(log, 1, { key: readKey(path), at: '2026-01-02T09:00:00.000Z', customer });
  expect(out(false)).not.toContain('"Nobody"');
  expect(out(false)).toContain('"streaks"');
  expect(out(true)).toContain('"Nobody"');
  log.close();
});
