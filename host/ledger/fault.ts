/** Which numbered error an SQLite failure is. */
import { numberedError } from '../errors/errors';
import { SqlError } from './database';

/** Runs `work`; an SQLite failure in it comes out as 251, 252, 254 or 255 about the log at `path`. Other errors pass. */
export function numbered<T>(path: string, work: () => T): T {
  try {
    return work();
  } catch (cause) {
    if (!(cause instanceof SqlError)) throw cause;
    const about = `${path}: ${cause.message}`;
    const is = (...codes: string[]) => codes.some((code) => cause.code.startsWith(code));
    if (is('SQLITE_BUSY', 'SQLITE_LOCKED')) throw numberedError('log locked', about, cause);
    // The index file beside the log cannot grow when the disk is full.
    if (is('SQLITE_FULL', 'SQLITE_IOERR_SHMSIZE')) throw numberedError('disk full', about, cause);
    if (is('SQLITE_CANTOPEN', 'SQLITE_READONLY', 'SQLITE_PERM', 'SQLITE_AUTH', 'SQLITE_IOERR')) {
      throw numberedError('log not writable', about, cause);
    }
    // What is left is damage: no such table, malformed JSON, a page that is none, a constraint that does not hold.
    throw numberedError('log corrupt', about, cause);
  }
}
