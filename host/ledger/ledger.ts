/** Writes a log: append-only, one writer, one hash chain, everything durable when the call returns. */
import { existsSync } from 'node:fs';
import { numberedError } from '../errors/errors';
import { canonicalJson } from './canonical';
import { setApart } from './apart';
import { CHAIN_START, chainHash, NO_JOB } from './chain';
import { CLOCK_TOLERANCE_MS } from './chain-check';
import { Sql, SqlError } from './database';
import type { SqlStatement } from './database';
import type { JobEvent, LogEvent, RecordEvent, ShopEvent, StoredEvent } from './events';
import { isJobEvent, isShopEvent } from './event-types';
import { numbered } from './fault';
import { entryAfter, JobIndex, type JobEntry } from './job-index';
import { changeText, finishTakeOver, makeNextKey, obtainKey, readKey, takeOver } from './keys';
import type { SigningKey } from './keys';
import { layOut, logStandsIn } from './layout';
import { engineName, type Program } from './program';
import { LogReader } from './reader';
import type { LedgerReader } from './reader';

export type { JobEntry, JobQuery } from './job-index';
export type { ChainHead, LedgerReader, Seal } from './reader';

/** The event that takes another writer's job in. */
export type ImportedEvent = Extract<ShopEvent, { type: 'job imported' }>;
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
  /** Notes, unless it stands there, that this program decides the job from here on, and keeps its text once. Throws what `append` throws. */
  noteSolver(job: number, program: Program): void;
  /**
   * Writes that texts and photos were deleted, and deletes the texts, from the file's bytes too: the whole file is written
   * anew, which takes seconds where it is large. Photo files are the caller's to erase. Throws what `append` throws.
   */
  deleteTexts(event: Extract<RecordEvent, { type: 'deleted' }>): void;
  /** Takes another writer's exported job in as foreign: its file whole, its entry in the list. Gives its number here. */
  importJob(event: ImportedEvent, file: string, entry: JobEntry): number;
  /**
   * Changes the signing key; the private half of the old one is gone with that. The change is signed by both, and where the
   * old one is `lost` by the new one alone. Throws 255 and what `append` throws; the old key then stands.
   */
  changeKey(reason: string): StoredEvent<ShopEvent>;
}

export interface LedgerOptions {
  /** Names this writer for ever: it is fixed when the log is made. */
  readonly writer: string;
  readonly now: () => Date;
  /** The most that the main file may grow to; beyond it writing fails as on a full disk (254). No limit when left out. */
  readonly bytesMax?: number;
  /**
   * The file was just restored from a backup: it goes on with numbers of events and jobs that the lost log cannot have
   * given, beyond those named as seen (0: none is known).
   */
  readonly restored?: { readonly by: string; readonly eventSeen: number; readonly jobSeen: number };
  /** The signing key is lost: why. The log goes on with a new one, which nothing in it vouches for. */
  readonly keyLost?: string;
}

/**
 * Opens a log for writing, making it when the file does not exist. Throws 251 (another process writes it), 252, 253,
 * 254, 255 (not writable, or the log of another writer), 258, 259 and 260 (no key, or another one).
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

/** Numbers left out after a restoration: more events than a bay writes in a year, more jobs than between two backups. */
const EVENTS_LEFT_OUT = 1_000_000;
const JOBS_LEFT_OUT = 1000;
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

function openLocked(
  path: string,
  { writer, now, bytesMax, keyLost, restored }: LedgerOptions,
  lock: Sql,
): Ledger {
  const isNew = !logStandsIn(path);
  if (isNew && /[\n\0]/.test(writer)) throw new TypeError('the name of a writer is one line');
  // Before the log, so that there is none without its key.
  if (isNew) obtainKey(path);
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
    log.takeUp(keyLost, restored);
    return log;
  } catch (fault) {
    sql.close();
    throw fault;
  }
}

/** Where the chain ends. */
interface End {
  readonly sequence: number;
  readonly hash: string;
  readonly at: string;
}

class LogWriter extends LogReader implements Ledger {
  private readonly insert: SqlStatement;
  private readonly highestJob: SqlStatement;
  private readonly lastOfJob: SqlStatement;
  private readonly keepText: SqlStatement;
  private key: SigningKey | undefined;
  /** End of the chain; undefined when it must be read from the file, as after a failed write. */
  private known: End | undefined;
  /** Hash of the last event of the job that was written last. */
  private knownJob: { readonly job: number; readonly hash: string } | undefined;

  constructor(
    path: string,
    sql: Sql,
    private readonly lock: Sql,
    private readonly now: () => Date,
  ) {
    super(path, sql);
    this.insert = sql.prepare(
      'INSERT INTO events (sequence, at, previous, job_previous, event, hash, signature) VALUES (?, ?, ?, ?, ?, ?, ?)',
    );
    this.highestJob = sql.prepare(`SELECT CAST(max(
      coalesce((SELECT max(event ->> '$.job') FROM events), 0),
      coalesce((SELECT max(event ->> '$.session') FROM events WHERE event ->> '$.session' IS NOT NULL), 0),
      coalesce((SELECT max(event ->> '$.nextJob') - 1 FROM events
        WHERE event ->> '$.job' IS NULL AND event ->> '$.type' = 'log restored'), 0)) AS INTEGER) AS job`);
    this.lastOfJob = sql.prepare(
      "SELECT CAST(hash AS BLOB) AS hash FROM events WHERE event ->> '$.job' = ? ORDER BY sequence DESC LIMIT 1",
    );
    this.keepText = sql.prepare(
      'INSERT INTO texts (sha256, job, salt, text, lowered) VALUES (?, ?, ?, ?, ?)',
    );
  }

  /** Looks at the end of the chain and at the key that is to sign on from it; a new log's first event makes its key known. */
  takeUp(keyLost: string | undefined, restored: LedgerOptions['restored']): void {
    const end = this.end();
    const current = this.keyOf(Number.MAX_SAFE_INTEGER);
    if (end.sequence === 0) {
      this.key = obtainKey(this.path);
      this.write({ type: 'key made', publicKey: this.key.publicKey });
      return;
    }
    if (current === undefined) throw this.corrupt('no key is in it');
    const from = end.sequence;
    const nextJob = Math.max(this.nextJob(), (restored?.jobSeen ?? 0) + 1) + JOBS_LEFT_OUT;
    if (restored !== undefined)
      this.known = { ...end, sequence: Math.max(from, restored.eventSeen) + EVENTS_LEFT_OUT };
    if (keyLost !== undefined)
      this.changeFrom(current, keyLost, undefined, restored === undefined ? {} : { restoredFrom: from });
    else {
      if (finishTakeOver(this.path, current)) this.key = readKey(this.path);
      this.key ??= readKey(this.path);
      if (this.key.publicKey !== current) throw numberedError('signing key does not fit', this.path);
    }
    if (restored !== undefined) this.write({ type: 'log restored', from, nextJob, by: restored.by });
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

  noteSolver(job: number, { sha256, text }: Program): void {
    const engine = engineName();
    const now = this.events(job).findLast((e) => e.event.type === 'solver known')?.event;
    if (now?.type === 'solver known' && now.sha256 === sha256 && now.engine === engine) return;
    this.write({ type: 'solver known', job, sha256, engine }, () =>
      this.sql
        .prepare('INSERT INTO programs (sha256, text) VALUES (?, ?) ON CONFLICT DO NOTHING')
        .run(sha256, text),
    );
  }

  deleteTexts(event: Extract<RecordEvent, { type: 'deleted' }>): void {
    this.write(event, () => {
      const erase = this.sql.prepare('DELETE FROM texts WHERE sha256 = ? AND job = ?');
      for (const sha256 of event.sha256s) erase.run(sha256, event.job);
    });
    // Pages keep bytes of rows that once stood there, and the write-ahead file keeps pages: both are written anew.
    numbered(this.path, () => {
      this.sql.execute('VACUUM');
      this.sql.prepare('PRAGMA wal_checkpoint(TRUNCATE)').all();
    });
  }

  importJob(event: ImportedEvent, file: string, entry: JobEntry): number {
    return this.write<ShopEvent>(event, (sequence) => {
      this.sql
        .prepare('INSERT INTO exports (sha256, text) VALUES (?, ?) ON CONFLICT DO NOTHING')
        .run(event.sha256, file);
      this.index.keep({ ...entry, foreign: { writer: event.writer, importedAs: sequence } });
    }).sequence;
  }

  changeKey(reason: string): StoredEvent<ShopEvent> {
    return this.changeFrom(this.signing().publicKey, reason, this.signing());
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

  /** The new key is in its file before the event names it, and takes the old one's place after. */
  private changeFrom(
    before: string,
    reason: string,
    old: SigningKey | undefined,
    also: { readonly restoredFrom?: number } = {},
  ): StoredEvent<ShopEvent> {
    const next = makeNextKey(this.path);
    const { publicKey } = next;
    const proof = next.sign(changeText(this.writer, before, publicKey));
    const event = { type: 'key changed', publicKey, before, proof, reason } as const;
    this.key = old ?? next;
    const stored = this.write<ShopEvent>(old === undefined ? { ...event, lost: true, ...also } : event);
    takeOver(this.path);
    this.key = next;
    return stored;
  }

  private signing(): SigningKey {
    if (this.key === undefined) throw numberedError('signing key missing', this.path);
    return this.key;
  }

  /** `alsoKeep` takes effect with the event or not at all. */
  private write<E extends LogEvent>(event: E, alsoKeep?: (sequence: number) => void): StoredEvent<E> {
    const end = this.known ?? this.end();
    const at = this.now().toISOString();
    const isBack = end.at !== '' && Date.parse(end.at) - Date.parse(at) > CLOCK_TOLERANCE_MS;
    if (isBack) this.put({ type: 'clock stepped', from: end.at, to: at }, end, at);
    return this.put(event, isBack ? (this.known ?? this.end()) : end, at, alsoKeep);
  }

  private put<E extends LogEvent>(
    event: E,
    end: End,
    at: string,
    alsoKeep?: (sequence: number) => void,
  ): StoredEvent<E> {
    const apart = setApart(event);
    const eventJson = canonicalJson(apart.event);
    const { writer } = this;
    const sequence = end.sequence + 1;
    const jobPrevious = isJobEvent(event) ? this.hashOfJob(event.job) : NO_JOB;
    const hash = chainHash({ writer, sequence, at, previous: end.hash, jobPrevious, eventJson });
    const signature = this.signing().sign(hash);
    const insert = () => this.insert.run(sequence, at, end.hash, jobPrevious, eventJson, hash, signature);
    const { text } = apart;
    this.known = undefined;
    this.knownJob = undefined;
    numbered(this.path, () => {
      const isListed = isJobEvent(event) && (text !== undefined || JobIndex.concerns(event));
      if (!isListed && alsoKeep === undefined) return insert();
      this.sql.transaction(() => {
        insert();
        alsoKeep?.(sequence);
        if (!isListed) return;
        if (text !== undefined)
          this.keepText.run(text.sha256, event.job, text.salt, text.text, text.text.toLowerCase());
        const entry = entryAfter(this.index.entry(event.job), event, at);
        if (entry !== undefined) this.index.keep(entry);
      });
    });
    this.known = { sequence, hash, at };
    if (isJobEvent(event)) this.knownJob = { job: event.job, hash };
    // As it will be read back.
    return { writer, sequence, at, event: JSON.parse(canonicalJson(event)) as E, hash };
  }

  private hashOfJob(job: number): string {
    if (this.knownJob?.job === job) return this.knownJob.hash;
    const found = numbered(this.path, () => this.lastOfJob.all(job))[0]?.['hash'];
    return typeof found === 'string' ? found : CHAIN_START;
  }
}
