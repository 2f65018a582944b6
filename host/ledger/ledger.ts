/** Writes a log: append-only, one writer, one hash chain, everything durable when the call returns. */
import { existsSync } from 'node:fs';
import { numberedError } from '../errors/errors';
import { canonicalJson } from './canonical';
import { chainHash } from './chain';
import { Sql, SqlError } from './database';
import type { SqlStatement } from './database';
import type { JobEvent, LogEvent, ShopEvent, StoredEvent } from './events';
import { isJobEvent, isShopEvent } from './event-types';
import { numbered } from './fault';
import { layOut, logStandsIn } from './layout';
import { LogReader } from './reader';
import type { ChainHead, LedgerReader } from './reader';

export type { ChainHead, JobEntry, LedgerReader } from './reader';

export type CapturedEvent = Extract<JobEvent, { type: 'captured' }>;

export interface Ledger extends LedgerReader {
  /**
   * Writes an event; it is on the disk when this returns. Throws 251, 252, 254 and 255 and has then written nothing;
   * TypeError when the event is none, cannot be written as JSON, or is a capture that is in the log.
   */
  append(event: JobEvent): StoredEvent;
  /** The same for what happens between jobs. */
  appendOfShop(event: ShopEvent): StoredEvent<ShopEvent>;
  /**
   * Writes a capture unless it is in the log already. After either answer the fixture may forget it. Throws 257 when
   * another capture of this fixture bears its number, and what `append` throws.
   */
  keepCapture(event: CapturedEvent): 'kept' | 'already kept';
  /** One more than the highest number of a job or session in the log. */
  nextJob(): number;
}

export interface LedgerOptions {
  /** Names this writer for ever: it is fixed when the log is made. */
  readonly writer: string;
  readonly now: () => Date;
  /** The most that the main file may grow to; beyond it writing fails as on a full disk (254). No limit when left out. */
  readonly bytesMax?: number;
}

/**
 * Opens a log for writing, making it when the file does not exist. Throws 251 (another process writes it), 252, 253,
 * 254, 255 (not writable, or the log of another writer).
 */
export function openLedger(path: string, options: LedgerOptions): Ledger {
  // The look comes first: a newer version's log gets not even a lock file.
  logStandsIn(path);
  return numbered(path, () => {
    const lock = lockOutOtherWriters(path);
    try {
      return openLocked(path, options, lock);
    } catch (fault) {
      release(lock);
      throw fault;
    }
  });
}

/** Opens an existing log for reading only; a job may be running on it. Throws 252, 253, 255 and 405 (no such file). */
export function openLedgerForReading(path: string): LedgerReader {
  if (!existsSync(path) || !logStandsIn(path)) throw numberedError('file not found', `${path} holds no log`);
  return numbered(path, () => {
    const sql = Sql.open(path, LOCK_WAIT_MS);
    sql.execute('PRAGMA query_only = 1');
    return new LogReader(path, sql);
  });
}

/** How long a call waits for a lock that another process holds. */
const LOCK_WAIT_MS = 1000;
/** SQLite's page size, which layOut leaves as it is. */
const PAGE_BYTES = 4096;

/**
 * The writer holds an exclusive SQLite lock on an empty file beside the log for as long as it lives. The operating system
 * frees it when the process dies, however it dies, and readers of the log itself never meet it.
 */
function lockOutOtherWriters(path: string): Sql {
  const lock = Sql.open(`${path}-writer`, LOCK_WAIT_MS);
  try {
    lock.execute('BEGIN EXCLUSIVE');
    return lock;
  } catch (cause) {
    lock.close();
    if (!(cause instanceof SqlError) || cause.code !== 'SQLITE_BUSY') throw cause;
    throw numberedError('log locked', `${path}, waited ${LOCK_WAIT_MS} ms`, cause);
  }
}

function release(lock: Sql): void {
  lock.execute('ROLLBACK');
  lock.close();
}

function openLocked(path: string, { writer, now, bytesMax }: LedgerOptions, lock: Sql): Ledger {
  const isNew = !logStandsIn(path);
  const sql = Sql.open(path, LOCK_WAIT_MS);
  try {
    if (isNew) layOut(sql, writer);
    sql.prepare('PRAGMA journal_mode = WAL').all();
    sql.execute('PRAGMA synchronous = FULL');
    if (bytesMax !== undefined) sql.execute(`PRAGMA max_page_count = ${Math.floor(bytesMax / PAGE_BYTES)}`);
    // Shows now, not at the first capture, whether the file may be written. (BEGIN IMMEDIATE alone does not.)
    sql.execute('UPDATE writer SET name = name WHERE 0');
    const log = new LogWriter(path, sql, lock, now);
    if (log.writer !== writer) {
      throw numberedError(
        'log not writable',
        `${path} is the log of '${log.writer}', this writer is '${writer}'`,
      );
    }
    log.end();
    return log;
  } catch (fault) {
    sql.close();
    throw fault;
  }
}

class LogWriter extends LogReader implements Ledger {
  private readonly insert: SqlStatement;
  private readonly highestJob: SqlStatement;
  /** End of the chain; undefined when it must be read from the file, as after a failed write. */
  private known: ChainHead | undefined;

  constructor(
    path: string,
    sql: Sql,
    private readonly lock: Sql,
    private readonly now: () => Date,
  ) {
    super(path, sql);
    this.insert = sql.prepare('INSERT INTO events (sequence, at, event, hash) VALUES (?, ?, ?, ?)');
    this.highestJob = sql.prepare(
      "SELECT CAST(max(coalesce(event ->> '$.job', event ->> '$.session')) AS INTEGER) AS job FROM events",
    );
  }

  append(event: JobEvent): StoredEvent {
    if (event.type === 'captured' && this.keptCapture(event.fixtureId, event.capture.capture) !== undefined) {
      throw new TypeError(`capture ${event.capture.capture} is in the log already: keepCapture tells`);
    }
    if (!isJobEvent(event)) throw new TypeError('not an event of a job');
    return this.write(event);
  }

  appendOfShop(event: ShopEvent): StoredEvent<ShopEvent> {
    if (!isShopEvent(event)) throw new TypeError('not an event of the shop');
    return this.write(event);
  }

  keepCapture(event: CapturedEvent): 'kept' | 'already kept' {
    const { fixtureId, capture } = event;
    const kept = this.keptCapture(fixtureId, capture.capture);
    if (kept === undefined) {
      this.write(event);
      return 'kept';
    }
    const same =
      kept.event.type === 'captured' && canonicalJson(kept.event.capture) === canonicalJson(capture);
    if (same) return 'already kept';
    throw numberedError(
      'capture number used twice',
      `capture ${capture.capture} of fixture ${fixtureId}, event ${kept.sequence}`,
    );
  }

  private write<E extends LogEvent>(event: E): StoredEvent<E> {
    const eventJson = canonicalJson(event);
    const { events, head } = this.known ?? this.end();
    const sequence = events + 1;
    const at = this.now().toISOString();
    const hash = chainHash(head, { writer: this.writer, sequence, at, eventJson });
    this.known = undefined;
    numbered(this.path, () => this.insert.run(sequence, at, eventJson, hash));
    this.known = { events: sequence, head: hash };
    return { writer: this.writer, sequence, at, event: JSON.parse(eventJson) as E, hash };
  }

  nextJob(): number {
    return numbered(this.path, () => Number(this.highestJob.all()[0]?.['job'] ?? 0)) + 1;
  }

  override close(): void {
    numbered(this.path, () => {
      // So that a copy of the main file alone is the whole log; a reader in between only leaves the work to SQLite.
      this.sql.prepare('PRAGMA wal_checkpoint(TRUNCATE)').all();
      this.sql.close();
      release(this.lock);
    });
  }
}
