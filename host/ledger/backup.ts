/** Copies of a log made while it is written, and a log made of such a copy. */
import { copyFileSync, cpSync, existsSync, renameSync, rmSync, chmodSync } from 'node:fs';
import { numberedError } from '../errors/errors';
import { Sql } from './database';
import { numbered } from './fault';
import { keyPathOf } from './keys';
import { logStandsIn } from './layout';
import { openLedger, openLedgerForReading, type ChainHead, type LedgerOptions } from './ledger';
import { photoFolderOf } from './photos';

/**
 * Writes a whole copy of the log, as it stands at this moment, and of its photos; a writer goes on meanwhile. The key goes
 * with it only where asked for. Gives where the copy ends. Throws 263 where a file is in the way, 254, 255, and what reading
 * throws.
 */
export function backUp(path: string, to: string, withKey: boolean): ChainHead {
  refuseExisting(to, photoFolderOf(to), ...(withKey ? [keyPathOf(to)] : []));
  if (!existsSync(path) || !logStandsIn(path)) throw numberedError('file not found', `${path} holds no log`);
  const part = `${to}-part`;
  written(to, () => rmSync(part, { force: true }));
  numbered(to, () => {
    const sql = Sql.open(path, LOCK_WAIT_MS);
    try {
      sql.prepare('VACUUM INTO ?').run(part);
    } finally {
      sql.close();
    }
  });
  written(to, () => {
    renameSync(part, to);
    if (existsSync(photoFolderOf(path))) cpSync(photoFolderOf(path), photoFolderOf(to), { recursive: true });
    if (withKey) {
      copyFileSync(keyPathOf(path), keyPathOf(to));
      chmodSync(keyPathOf(to), 0o600);
    }
  });
  const copy = openLedgerForReading(to);
  try {
    return copy.verify();
  } finally {
    copy.close();
  }
}

export interface RestoreOptions extends Pick<LedgerOptions, 'writer' | 'now'> {
  readonly by: string;
  /** Highest numbers of an event and a job of the lost log that are known from sheets or a database; 0: none. */
  readonly eventSeen: number;
  readonly jobSeen: number;
}

/**
 * Makes a log of a backup, which stays as it is. The log goes on with numbers that the lost one cannot have given; without
 * the key in the backup it goes on with a new one. Gives whether the key was there. Throws 263 where a log stands already,
 * 252 where the backup does not verify, and what opening throws.
 */
export function restore(backup: string, path: string, options: RestoreOptions): { readonly key: boolean } {
  refuseExisting(path, `${path}-wal`, photoFolderOf(path));
  const copy = openLedgerForReading(backup);
  try {
    copy.verify();
  } finally {
    copy.close();
  }
  const hasKey = existsSync(keyPathOf(backup)) || existsSync(keyPathOf(path));
  written(path, () => {
    copyFileSync(backup, `${path}-part`);
    if (existsSync(photoFolderOf(backup)))
      cpSync(photoFolderOf(backup), photoFolderOf(path), { recursive: true });
    if (existsSync(keyPathOf(backup)) && !existsSync(keyPathOf(path))) {
      copyFileSync(keyPathOf(backup), keyPathOf(path));
      chmodSync(keyPathOf(path), 0o600);
    }
    renameSync(`${path}-part`, path);
  });
  const { writer, now, by, eventSeen, jobSeen } = options;
  try {
    openLedger(path, {
      ...{ writer, now, restored: { by, eventSeen, jobSeen } },
      ...(hasKey ? {} : { keyLost: 'restored from a backup without the key' }),
    }).close();
  } catch (fault) {
    // A log that does not say that it was restored would give numbers again.
    for (const side of ['', '-wal', '-shm', '-writer']) rmSync(path + side, { force: true });
    throw fault;
  }
  return { key: hasKey };
}

function refuseExisting(...paths: readonly string[]): void {
  for (const path of paths) if (existsSync(path)) throw numberedError('file exists', path);
}

function written(path: string, work: () => void): void {
  try {
    work();
  } catch (cause) {
    const code = cause instanceof Error && 'code' in cause ? cause.code : '';
    throw numberedError(code === 'ENOSPC' ? 'disk full' : 'file not writable', path, cause);
  }
}

const LOCK_WAIT_MS = 1000;
