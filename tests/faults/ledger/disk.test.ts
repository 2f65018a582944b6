import { execFileSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { openLedger, openLedgerForReading } from '../../../host/ledger/ledger';
import type { Ledger } from '../../../host/ledger/ledger';
import type { StoredEvent } from '../../../host/ledger/events';
import { NumberedError } from '../../../host/errors/errors';
import { KEY, WRITER, captured, newFolder, open, opened, tickingClock, writeSample } from './sample-log';
import { refusal } from '../../refusal';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));
const isRoot = process.getuid?.() === 0;

/** Only root may mount; in CI nothing is skipped. */
const NO_MOUNT = process.env['CI'] !== 'true' && !isRoot;
const mounting = (what: string) => (NO_MOUNT ? `${what} (skipped: needs root on Linux, see .ci/run)` : what);

/** Works on a file system in memory that is there for that long. */
function onDisk(size: string, work: (disk: string) => void): void {
  const disk = mkdtempSync(join(folder, 'disk-'));
  execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${size}`, 'tmpfs', disk]);
  try {
    work(disk);
  } finally {
    execFileSync('umount', ['-l', disk]);
  }
}

/** Appends opened jobs, the largest kind of event, until the disk is full; gives what was acknowledged. */
function fill(ledger: Ledger): StoredEvent[] {
  const acknowledged: StoredEvent[] = [];
  for (;;) {
    try {
      acknowledged.push(ledger.append(opened(acknowledged.length + 1)));
    } catch (error) {
      expect(error).toBeInstanceOf(NumberedError);
      expect((error as NumberedError).number).toBe(254);
      return acknowledged;
    }
  }
}

describe('a full disk', () => {
  test('at the size limit of the log: 254, all acknowledged events intact, and it goes on when there is room', () => {
    const path = join(folder, 'limit.swathplane-log');
    const small = openLedger(path, {
      writer: WRITER,
      now: tickingClock(Date.UTC(2026, 0, 1)),
      bytesMax: 120_000,
    });
    const acknowledged = fill(small);
    expect(acknowledged.length).toBeGreaterThan(5);
    expect(refusal(() => small.append(opened(1))).number).toBe(254);
    expect(small.events()).toEqual(acknowledged);
    small.close();
    const roomy = open(path);
    expect(roomy.keepCapture(captured(1, 1))).toBe('kept');
    expect(roomy.events().slice(0, -1)).toEqual(acknowledged);
    expect(roomy.verify().events).toBe(KEY + acknowledged.length + 1);
    roomy.close();
  });

  test.skipIf(NO_MOUNT)(
    mounting(
      'on a real file system of 512 KiB: 254, all acknowledged events intact, and it goes on when there is room',
    ),
    () =>
      onDisk('512k', (disk) => {
        const ballast = join(disk, 'ballast');
        writeFileSync(ballast, Buffer.alloc(128 * 1024));
        const ledger = open(join(disk, 'log.swathplane-log'));
        const acknowledged = fill(ledger);
        expect(acknowledged.length).toBeGreaterThan(5);
        expect(ledger.events()).toEqual(acknowledged);
        rmSync(ballast);
        ledger.append(opened(1000));
        expect(ledger.verify().events).toBe(KEY + acknowledged.length + 1);
        ledger.close();
      }),
  );

  test.skipIf(NO_MOUNT)(mounting('with no room for even a new log: 254'), () =>
    onDisk('16k', (disk) => {
      expect(refusal(() => open(join(disk, 'log.swathplane-log'))).number).toBe(254);
    }),
  );
});

describe('a place that cannot be written', () => {
  /** Root may write everywhere, so the work is done as nobody. */
  function asNobody<T>(work: () => T): T {
    if (!isRoot) return work();
    process.seteuid?.(65534);
    try {
      return work();
    } finally {
      process.seteuid?.(0);
    }
  }

  test('no such folder: 255', () => {
    const error = refusal(() => open(join(folder, 'nowhere', 'log.swathplane-log')));
    expect(error.number).toBe(255);
    expect(error.nextStep).toContain('folder');
  });

  test('the path is a folder: 255', () => {
    expect(refusal(() => open(folder)).number).toBe(255);
  });

  test('a folder without the right to write: 255, and nothing made', () => {
    const closed = join(folder, 'closed');
    mkdirSync(closed);
    chmodSync(folder, 0o755);
    chmodSync(closed, 0o555);
    const path = join(closed, 'log.swathplane-log');
    expect(asNobody(() => refusal(() => open(path))).number).toBe(255);
    expect(existsSync(path)).toBe(false);
    chmodSync(closed, 0o755);
  });

  test('a log without the right to write, in a folder with it: 255 at opening, and every event intact', () => {
    const shared = join(folder, 'shared');
    mkdirSync(shared);
    chmodSync(folder, 0o755);
    const path = join(shared, 'log.swathplane-log');
    const written = writeSample(path);
    for (const side of ['-wal', '-shm', '-writer']) rmSync(path + side, { force: true });
    chmodSync(shared, 0o777);
    chmodSync(path, 0o444);
    expect(asNobody(() => refusal(() => open(path))).number).toBe(255);
    chmodSync(path, 0o644);
    const log = openLedgerForReading(path);
    expect(log.events()).toEqual(written);
    expect(log.verify().events).toBe(KEY + written.length);
    log.close();
  });

  test.skipIf(NO_MOUNT)(
    mounting('a disk that turned read-only: 255 for an old log and for a new one, and every event readable'),
    () =>
      onDisk('8m', (disk) => {
        // Written elsewhere: this process must hold no file of a disk that is to turn read-only.
        const made = mkdtempSync(join(folder, 'made-'));
        const written = writeSample(join(made, 'log.swathplane-log'));
        cpSync(made, disk, { recursive: true });
        const path = join(disk, 'log.swathplane-log');
        execFileSync('mount', ['-o', 'remount,ro', disk]);
        expect(refusal(() => open(path)).number).toBe(255);
        expect(refusal(() => open(join(disk, 'new.swathplane-log'))).number).toBe(255);
        const log = openLedgerForReading(path);
        expect(log.events()).toEqual(written);
        expect(log.verify().events).toBe(KEY + written.length);
        log.close();
      }),
  );

  test('another writer’s log: 255 and unchanged', () => {
    const path = join(folder, 'theirs.swathplane-log');
    const written = writeSample(path);
    const error = refusal(() => openLedger(path, { writer: 'bay two', now: tickingClock() }));
    expect(error.number).toBe(255);
    expect(error.message).toContain(WRITER);
    const ledger = open(path);
    expect(ledger.events()).toEqual(written);
    ledger.close();
  });
});
