import { copyFileSync, existsSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { ChainCheck } from '../../../host/ledger/chain-check';
import { backUp, restore } from '../../../host/ledger/backup';
import { openLedger, openLedgerForReading, type Ledger } from '../../../host/ledger/ledger';
import { verifyLog } from '../../../host/ledger/verify';
import { KEY, WRITER, captured, newFolder, opened, turned, writeSample } from './sample-log';
import { startWriter } from './second-process';
import { refusal } from '../../refusal';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));
let logs = 0;
const newPath = () => join(folder, `${(logs += 1)}.swathplane-log`);
const now = () => new Date(Date.UTC(2027, 0, 1));
const RESTORED = { writer: WRITER, now, by: 'Ola', eventSeen: 0, jobSeen: 0 };

function verified(path: string, head?: { readonly sequence: number; readonly hash: string }) {
  const log = openLedgerForReading(path);
  try {
    const known = head === undefined ? {} : { head };
    return verifyLog(log, { rejudge: false, programOf: () => undefined, ...known });
  } finally {
    log.close();
  }
}

/** Opens the log, works on it, closes it. */
function writing<T>(path: string, work: (ledger: Ledger) => T): T {
  const ledger = openLedger(path, { writer: WRITER, now });
  try {
    return work(ledger);
  } finally {
    ledger.close();
  }
}

test('a backup while another process writes is whole, and the writer never waits long', async () => {
  const path = newPath();
  writeSample(path);
  const writer = startWriter('write', path, WRITER, join(folder, 'online.out'));
  await writer.printed(5);
  const before = writer.lines().length;
  const head = backUp(path, `${path}-backup`, false);
  await writer.printed(before + 5);
  await writer.kill();
  expect(head.events).toBeGreaterThanOrEqual(KEY + 82 + before);
  expect(verified(`${path}-backup`).faults).toEqual([]);
  // The backup is the beginning of what the log is now.
  expect(verified(path, { sequence: head.sequence, hash: head.head }).faults).toEqual([]);
  expect(existsSync(`${path}-backup-key`)).toBe(false);
});

describe('a log restored from a backup', () => {
  /** A log with a backup, and what was written after it. */
  function lostLog(withKey: boolean) {
    const path = newPath();
    writeSample(path);
    const backup = `${path}-backup`;
    const { sequence } = backUp(path, backup, withKey);
    const [lost] = writing(path, (ledger) => [ledger.append(turned(2, 9)), ledger.append(opened(3))]);
    return { path, backup, from: sequence, lost };
  }

  test('goes on with the key, and gives no number again that the lost one may have given', () => {
    const { backup, from, lost } = lostLog(true);
    expect(statSync(`${backup}-key`).mode & 0o777).toBe(0o600);
    const path = newPath();
    expect(restore(backup, path, RESTORED)).toEqual({ key: true });
    const next = writing(path, (ledger) => {
      expect(ledger.keepCapture(captured(2, 99))).toBe('kept');
      return { event: ledger.append(turned(2, 1)), job: ledger.nextJob() };
    });
    expect(next.event.sequence).toBeGreaterThan(from + 1_000_000);
    expect(next.job).toBeGreaterThan(3 + 999);
    const found = verified(path);
    expect(found).toMatchObject({ faults: [], open: [] });
    expect(found.notes.join()).toContain(`restored from a backup that ended with event ${from}`);
    // A sheet of the lost part: this log cannot tell. A sheet of before: it can.
    expect(verified(path, { sequence: lost?.sequence ?? 0, hash: lost?.hash ?? '' }).open.join()).toContain(
      'lost',
    );
    expect(verified(path, { sequence: 2, hash: '00' }).faults.join()).toContain('rebuilt');
  });

  test('keeps clear of numbers that sheets or a database name', () => {
    const { backup } = lostLog(true);
    const path = newPath();
    restore(backup, path, { ...RESTORED, eventSeen: 5_000_000, jobSeen: 7000 });
    writing(path, (ledger) => {
      expect(ledger.append(turned(2, 1)).sequence).toBeGreaterThan(6_000_000);
      expect(ledger.nextJob()).toBeGreaterThan(8000);
    });
    expect(verified(path).faults).toEqual([]);
  });

  test('without the key: a new one signs on, and verification cannot tell whose it is', () => {
    const { backup } = lostLog(false);
    const path = newPath();
    expect(restore(backup, path, RESTORED)).toEqual({ key: false });
    writing(path, (ledger) => ledger.append(turned(2, 1)));
    const found = verified(path);
    expect(found.faults).toEqual([]);
    expect(found.open.join()).toContain('took over from a lost one');
  });

  test('never over another log, and never from a damaged backup', () => {
    const { path, backup } = lostLog(true);
    const before = readFileSync(path);
    expect(refusal(() => restore(backup, path, RESTORED)).number).toBe(263);
    expect(refusal(() => backUp(path, backup, false)).number).toBe(263);
    expect(readFileSync(path)).toEqual(before);
    const hurt = readFileSync(backup);
    // SQLite's pages may hold old bytes of a row beside its own: all of them are hurt.
    for (let at = hurt.indexOf('"turns":0.5'); at >= 0; at = hurt.indexOf('"turns":0.5', at + 1))
      hurt[at + 8] = '1'.charCodeAt(0);
    writeFileSync(`${backup}-hurt`, hurt);
    const target = newPath();
    expect(refusal(() => restore(`${backup}-hurt`, target, RESTORED)).number).toBe(252);
    expect(existsSync(target)).toBe(false);
  });

  test('a gap that no restoration explains is a fault', () => {
    const { path } = lostLog(true);
    const log = openLedgerForReading(path);
    const raw = log.rawEvents(0, 1000).filter((e) => e.sequence !== 40);
    log.close();
    const check = new ChainCheck(WRITER);
    expect(raw.flatMap((e) => check.next(e))[0]?.what).toBe('event 40 is missing');
  });
});

test('a copy that goes on beside the log is a second chain of one writer: a head of one is not in the other', () => {
  const path = newPath();
  writeSample(path);
  const copy = newPath();
  copyFileSync(path, copy);
  copyFileSync(`${path}-key`, `${copy}-key`);
  const mine = writing(path, (ledger) => ledger.append(turned(2, 1)));
  writing(copy, (ledger) => ledger.append(turned(2, 3)));
  expect(verified(copy).faults).toEqual([]);
  expect(verified(copy, mine).faults.join()).toContain('forked chain');
});
