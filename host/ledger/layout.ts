/** How a log lies in its file: version, tables, and the look at a file that leaves it untouched. FORMAT.md says it in prose. */
import { closeSync, openSync, readSync } from 'node:fs';
import { numberedError } from '../errors/errors';
import type { Sql } from './database';
import { JOBS_TABLE } from './job-index';

/** Raised when an older tool could misread the log: another table, or another type of event. */
export const LAYOUT_VERSION = 2;
/** Layouts before this one have no signatures, which nobody can add in good faith afterwards. They were never released. */
const OLDEST_READ = 2;
/** `Swth` in ASCII, in the place where an SQLite file names the application it belongs to. */
const APPLICATION_ID = 0x53777468;

/** Whether a log stands in the file. Reads the first hundred bytes only. Throws 252 (no log of ours), 253 (newer), 255, 258 (older). */
export function logStandsIn(path: string): boolean {
  const header = readHeader(path);
  if (header.length === 0) return false;
  const isSqlite = header.length === 100 && header.toString('latin1', 0, 16) === 'SQLite format 3\0';
  if (!isSqlite || header.readUInt32BE(68) !== APPLICATION_ID)
    throw numberedError('log corrupt', `${path} is not a log of this tool`);
  const version = header.readUInt32BE(60);
  if (version > LAYOUT_VERSION) {
    throw numberedError(
      'log from a newer version',
      `${path} has layout ${version}, this tool knows ${LAYOUT_VERSION}`,
    );
  }
  if (version < 1) throw numberedError('log corrupt', `${path} has layout ${version}, which never was`);
  if (version < OLDEST_READ)
    throw numberedError('log from an older version', `${path} has layout ${version}`);
  return true;
}

/**
 * Lays out an empty file. One transaction in the rollback mode that a new file has, so that version and tables are in
 * the main file together or not at all; write-ahead logging is switched on only after it.
 */
export function layOut(sql: Sql, writer: string): void {
  sql.execute(`
    BEGIN IMMEDIATE;
    PRAGMA application_id = ${APPLICATION_ID};
    PRAGMA user_version = ${LAYOUT_VERSION};
    CREATE TABLE writer (name TEXT NOT NULL) STRICT;
    CREATE TABLE events (
      sequence INTEGER PRIMARY KEY AUTOINCREMENT,
      at TEXT NOT NULL,
      previous TEXT NOT NULL,
      job_previous TEXT NOT NULL,
      event TEXT NOT NULL,
      hash TEXT NOT NULL,
      signature TEXT NOT NULL
    ) STRICT;
    CREATE UNIQUE INDEX capture_once ON events (event ->> '$.fixtureId', event ->> '$.capture.capture')
      WHERE event ->> '$.type' = 'captured';
    CREATE INDEX of_job ON events (event ->> '$.job');
    CREATE INDEX of_session ON events (event ->> '$.session') WHERE event ->> '$.session' IS NOT NULL;
    CREATE INDEX of_shop ON events (event ->> '$.type') WHERE event ->> '$.job' IS NULL;
    CREATE TABLE texts (
      sha256 TEXT PRIMARY KEY,
      job INTEGER NOT NULL,
      salt TEXT NOT NULL,
      text TEXT NOT NULL,
      lowered TEXT NOT NULL
    ) STRICT;
    CREATE INDEX texts_of_job ON texts (job);
    CREATE TABLE programs (sha256 TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;
    CREATE TABLE exports (sha256 TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;
    ${JOBS_TABLE}`);
  sql.prepare('INSERT INTO writer (name) VALUES (?)').run(writer);
  sql.execute('COMMIT');
}

function readHeader(path: string): Buffer {
  const header = Buffer.alloc(100);
  let file: number | undefined;
  try {
    file = openSync(path, 'r');
    return header.subarray(0, readSync(file, header, 0, header.length, 0));
  } catch (cause) {
    if (cause instanceof Error && 'code' in cause && cause.code === 'ENOENT') return Buffer.alloc(0);
    throw numberedError(
      'log not writable',
      `${path}: ${cause instanceof Error ? cause.message : 'not readable'}`,
      cause,
    );
  } finally {
    if (file !== undefined) closeSync(file);
  }
}
