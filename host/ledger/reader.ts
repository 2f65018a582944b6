/** Reads a log, also while another process writes it. Whatever comes out has been checked against its hash. */
import { NumberedError, numberedError } from '../errors/errors';
import { putTogether, type KeptText } from './apart';
import { CHAIN_START, chainHash, type RawEvent } from './chain';
import { ChainCheck, type KnownKey } from './chain-check';
import type { Sql, SqlRow, SqlStatement, SqlValue } from './database';
import type { JobEvent, LogEvent, ShopEvent, StoredEvent } from './events';
import { isJobEvent, isLogEvent, isShopEvent } from './event-types';
import { numbered } from './fault';
import { entryAfter, JobIndex, type JobEntry, type JobQuery } from './job-index';
import { fingerprintOf } from './keys';
import type { Program } from './program';

/** Where a chain ends: enough to tell later that nothing was changed or cut off. */
export interface ChainHead {
  /** How many events there are. */
  readonly events: number;
  /** The number of the last one: more than `events` where a log went on after it was restored. */
  readonly sequence: number;
  readonly head: string;
}

/** What vouches for an event and all before it. */
export interface Seal {
  readonly writer: string;
  readonly sequence: number;
  readonly hash: string;
  readonly signature: string;
  /** The key that signed it, and its fingerprint (SHA-256 of its 32 bytes). */
  readonly publicKey: string;
  readonly fingerprint: string;
}

export interface LedgerReader {
  readonly path: string;
  /** The name of the log's writer. */
  readonly writer: string;
  /** Events in the order written, of one job or of all jobs. Throws 252 when one does not match its hash. */
  events(job?: number): StoredEvent[];
  /** What happened between jobs, in the order written. Throws 252. */
  shopEvents(): ShopEvent[];
  /** Jobs in the order opened, then those imported from other writers. From the list beside the chain, which `verify` checks. */
  jobs(): JobEntry[];
  /** This writer's jobs that are open, in the order opened. From the same list. */
  openJobs(): JobEntry[];
  /** Jobs that fit, newest first. From the same list. */
  search(query: JobQuery): JobEntry[];
  /** Highest number of a kept capture of this fixture, 0 when there is none. */
  highestCapture(fixtureId: string): number;
  /** Events as they stand in the file, in the order written, from the first after `after`: for copies. Not checked. */
  rawEvents(after: number, limit: number): RawEvent[];
  /** The same of one job, with the events of the log's keys, clock and restorations: what an exported job holds. */
  rawEventsOfJob(job: number): RawEvent[];
  /** What vouches for the event of this number; left out: for the last. Undefined where there is none. */
  seal(sequence?: number): Seal | undefined;
  /** Texts of a job that stand beside the chain and were not deleted, in no order. */
  keptTexts(job: number): KeptText[];
  /** A solver that a `solver known` names. */
  program(sha256: string): Program | undefined;
  /** The file that a `job imported` names. */
  exportedJob(sha256: string): string | undefined;
  /**
   * Checks like `verify`, shows every sound event on the way and gives faults of the chain in words, at most about so many.
   * Throws 252 where the file itself is damaged, or end or list do not fit.
   */
  examine(see: (stored: StoredEvent<LogEvent>, raw: RawEvent) => void, faultsMax: number): Examination;
  /** Checks every event, chain, signatures, the end, the list of jobs and the file's own structure. Throws 252 naming the first bad event. */
  verify(): ChainHead;
  close(): void;
}

export interface Examination {
  readonly faults: readonly string[];
  readonly keys: readonly KnownKey[];
  readonly end: ChainHead;
}

const PAGE_ROWS = 500;

export class LogReader implements LedgerReader {
  readonly writer: string;
  protected readonly index: JobIndex;
  private readonly page: SqlStatement;
  private readonly ofJob: SqlStatement;
  private readonly ofNoJob: SqlStatement;
  private readonly ofLog: SqlStatement;
  private readonly capture: SqlStatement;
  private readonly highest: SqlStatement;
  private readonly last: SqlStatement;
  private readonly highestEver: SqlStatement;
  private readonly text: SqlStatement;
  private readonly keyEvents: SqlStatement;
  private readonly textsOfJob: SqlStatement;
  private readonly programs: SqlStatement;
  private readonly exportTexts: SqlStatement;

  constructor(
    readonly path: string,
    protected readonly sql: Sql,
  ) {
    const writer = sql.prepare('SELECT CAST(name AS BLOB) AS name FROM writer').all();
    if (writer.length !== 1) throw numberedError('log corrupt', `${path} names ${writer.length} writers`);
    this.writer = String(writer[0]?.['name']);
    this.index = new JobIndex(sql, this.writer);
    this.page = sql.prepare(`${ROWS} WHERE sequence > ? ORDER BY sequence LIMIT ?`);
    this.ofJob = sql.prepare(`${ROWS} WHERE event ->> '$.job' = ? ORDER BY sequence`);
    this.ofNoJob = sql.prepare(`${ROWS} WHERE event ->> '$.job' IS NULL ORDER BY sequence`);
    this.ofLog = sql.prepare(
      `${ROWS} WHERE event ->> '$.job' IS NULL
       AND event ->> '$.type' IN ('key made', 'key changed', 'clock stepped', 'log restored')`,
    );
    this.capture = sql.prepare(`${ROWS} ${OF_FIXTURE} AND event ->> '$.capture.capture' = ?`);
    this.highest = sql.prepare(
      `SELECT CAST(max(event ->> '$.capture.capture') AS INTEGER) AS number FROM events ${OF_FIXTURE}`,
    );
    this.last = sql.prepare(`${ROWS} ORDER BY sequence DESC LIMIT 1`);
    this.highestEver = sql.prepare(
      "SELECT CAST(seq AS INTEGER) AS seq FROM sqlite_sequence WHERE name = 'events'",
    );
    this.text = sql.prepare('SELECT CAST(text AS BLOB) AS text FROM texts WHERE sha256 = ?');
    this.textsOfJob = sql.prepare(
      `SELECT CAST(sha256 AS BLOB) AS sha256, CAST(salt AS BLOB) AS salt, CAST(text AS BLOB) AS text
       FROM texts WHERE job = ? ORDER BY sha256`,
    );
    this.programs = sql.prepare('SELECT CAST(text AS BLOB) AS text FROM programs WHERE sha256 = ?');
    this.exportTexts = sql.prepare('SELECT CAST(text AS BLOB) AS text FROM exports WHERE sha256 = ?');
    this.keyEvents = sql.prepare(
      `${ROWS} WHERE event ->> '$.job' IS NULL AND event ->> '$.type' IN ('key made', 'key changed')
       AND sequence <= ? ORDER BY sequence DESC LIMIT 1`,
    );
  }

  events(job?: number): StoredEvent[] {
    if (job === undefined) return [...this.pages()].flat().filter(isOfJob);
    const events = this.checked(this.ofJob, job);
    return events.filter(isOfJob);
  }

  shopEvents(): ShopEvent[] {
    return this.checked(this.ofNoJob)
      .map((stored) => stored.event)
      .filter((event) => isShopEvent(event));
  }

  jobs(): JobEntry[] {
    return numbered(this.path, () => this.index.all());
  }

  openJobs(): JobEntry[] {
    return numbered(this.path, () => this.index.open());
  }

  search(query: JobQuery): JobEntry[] {
    return numbered(this.path, () => this.index.all(query));
  }

  highestCapture(fixtureId: string): number {
    return numbered(this.path, () => Number(this.highest.all(fixtureId)[0]?.['number'] ?? 0));
  }

  /** The kept capture of this number, if there is one. */
  keptCapture(fixtureId: string, capture: number): StoredEvent | undefined {
    return this.checked(this.capture, fixtureId, capture).find(isOfJob);
  }

  rawEvents(after: number, limit: number): RawEvent[] {
    return this.raw(this.page, after, limit);
  }

  rawEventsOfJob(job: number): RawEvent[] {
    return [...this.raw(this.ofJob, job), ...this.raw(this.ofLog)].sort((a, b) => a.sequence - b.sequence);
  }

  seal(sequence?: number): Seal | undefined {
    const [event] = sequence === undefined ? this.raw(this.last) : this.raw(this.page, sequence - 1, 1);
    if (event === undefined || (sequence !== undefined && event.sequence !== sequence)) return undefined;
    const publicKey = this.keyOf(event.sequence);
    if (publicKey === undefined) throw this.corrupt('no key is in it');
    const { writer, hash, signature } = event;
    return {
      writer,
      sequence: event.sequence,
      hash,
      signature,
      publicKey,
      fingerprint: fingerprintOf(publicKey),
    };
  }

  verify(): ChainHead {
    const { faults, end } = this.examine(() => {}, 1);
    if (faults[0] !== undefined) throw this.corrupt(faults[0]);
    return end;
  }

  examine(see: (stored: StoredEvent<LogEvent>, raw: RawEvent) => void, faultsMax: number): Examination {
    const check = new ChainCheck(this.writer);
    const entries = new Map<number, JobEntry>();
    const faults: string[] = [];
    let events = 0;
    let end = { sequence: 0, hash: CHAIN_START };
    for (const page of this.rawPages()) {
      for (const raw of page) {
        const found = check.next(raw);
        faults.push(...found.map((fault) => fault.what));
        if (faults.length >= faultsMax) break;
        events += 1;
        end = raw;
        if (found.length > 0) continue;
        const stored = this.understood(raw);
        see(stored, raw);
        if (!isJobEvent(stored.event)) continue;
        const entry = entryAfter(entries.get(stored.event.job), stored.event, stored.at);
        if (entry !== undefined) entries.set(stored.event.job, entry);
      }
      if (faults.length >= faultsMax) break;
    }
    if (faults.length === 0) {
      this.checkEnd(end.sequence);
      this.checkList([...entries.values()]);
      const report = numbered(this.path, () => this.sql.prepare(STRUCTURE).all());
      const said = String(report[0]?.['said']);
      if (said !== 'ok') throw this.corrupt(said);
    }
    return { faults, keys: check.keys, end: { events, sequence: end.sequence, head: end.hash } };
  }

  keptTexts(job: number): KeptText[] {
    return numbered(this.path, () => this.textsOfJob.all(job)).map((row) => ({
      sha256: String(row['sha256']),
      salt: String(row['salt']),
      text: String(row['text']),
    }));
  }

  program(sha256: string): Program | undefined {
    const row = numbered(this.path, () => this.programs.all(sha256))[0];
    return row === undefined ? undefined : { sha256, text: String(row['text']) };
  }

  exportedJob(sha256: string): string | undefined {
    const row = numbered(this.path, () => this.exportTexts.all(sha256))[0];
    return row === undefined ? undefined : String(row['text']);
  }

  /** Where the chain ends, from its last event alone. Throws 252 when that event is bad or events after it were cut off. */
  protected end(): { readonly sequence: number; readonly hash: string; readonly at: string } {
    const last = this.checked(this.last)[0];
    this.checkEnd(last?.sequence ?? 0);
    return last ?? { sequence: 0, hash: CHAIN_START, at: '' };
  }

  /** The key that signed, or will sign, the event of this number: undefined in an empty log. */
  protected keyOf(sequence: number): string | undefined {
    const [stored] = this.checked(this.keyEvents, sequence);
    const event = stored?.event;
    if (event?.type === 'key made') return event.publicKey;
    if (event?.type !== 'key changed') return undefined;
    // The change itself is signed by the key before, unless that was lost.
    return stored?.sequence === sequence && event.lost !== true ? event.before : event.publicKey;
  }

  close(): void {
    numbered(this.path, () => this.sql.close());
  }

  private checkEnd(sequence: number): void {
    const ever = numbered(this.path, () => Number(this.highestEver.all()[0]?.['seq'] ?? 0));
    if (ever !== sequence)
      throw this.corrupt(`${ever} events were written, but the last one here is event ${sequence}`);
  }

  /** The list of jobs says what the events say. */
  private checkList(expected: readonly JobEntry[]): void {
    const listed = this.jobs().filter((entry) => entry.foreign === undefined);
    const byJob = new Map(listed.map((entry) => [entry.job, comparable(entry)]));
    for (const entry of expected) {
      if (byJob.get(entry.job) !== comparable(entry))
        throw this.corrupt(`the list of jobs does not say of job ${entry.job} what its events say`);
    }
    if (listed.length !== expected.length)
      throw this.corrupt(`the list has ${listed.length} jobs, the events ${expected.length}`);
  }

  /** All events, page by page. Where a page cannot be read its events are read one by one, to name the first bad one. */
  private *pages(): Generator<StoredEvent<LogEvent>[]> {
    for (const page of this.rawPages()) yield page.map((raw) => this.check(raw));
  }

  private *rawPages(): Generator<RawEvent[]> {
    let after = 0;
    for (;;) {
      let page: RawEvent[];
      try {
        page = this.raw(this.page, after, PAGE_ROWS);
      } catch (fault) {
        this.nameFirstBad(after);
        throw fault;
      }
      if (page.length === 0) return;
      yield page;
      after = page[page.length - 1]?.sequence ?? after;
    }
  }

  private nameFirstBad(after: number): void {
    for (let sequence = after + 1; sequence <= after + PAGE_ROWS; sequence += 1) {
      try {
        if (this.raw(this.page, sequence - 1, 1).length === 0) return;
      } catch (fault) {
        if (!(fault instanceof NumberedError) || fault.number !== 252) throw fault;
        throw this.corrupt(
          `event ${sequence} is the first bad one: ${fault.about.replace(`${this.path}: `, '')}`,
          fault,
        );
      }
    }
  }

  private raw(statement: SqlStatement, ...values: readonly SqlValue[]): RawEvent[] {
    return numbered(this.path, () => statement.all(...values)).map((row) => this.textsIn(row));
  }

  private checked(statement: SqlStatement, ...values: readonly SqlValue[]): StoredEvent<LogEvent>[] {
    return this.raw(statement, ...values).map((raw) => this.check(raw));
  }

  private textsIn({ sequence, at, previous, job_previous, event, hash, signature }: SqlRow): RawEvent {
    if (
      typeof sequence !== 'number' ||
      typeof at !== 'string' ||
      typeof previous !== 'string' ||
      typeof job_previous !== 'string' ||
      typeof event !== 'string' ||
      typeof hash !== 'string' ||
      typeof signature !== 'string'
    ) {
      throw this.corrupt('an event has no text where text belongs');
    }
    const { writer } = this;
    return {
      writer,
      sequence,
      at,
      previous,
      jobPrevious: job_previous,
      eventJson: event,
      hash,
      signature,
    };
  }

  /** The event of a row, after its hash and its type are checked. */
  private check(raw: RawEvent): StoredEvent<LogEvent> {
    if (chainHash(raw) !== raw.hash) throw this.corrupt(`event ${raw.sequence} does not match its hash`);
    return this.understood(raw);
  }

  private understood({ writer, sequence, at, hash, eventJson }: RawEvent): StoredEvent<LogEvent> {
    const event = putTogether(JSON.parse(eventJson), (sha256) => this.keptText(sha256));
    if (isLogEvent(event)) return { writer, sequence, at, event, hash };
    // The hash holds, so this was written in good faith, by a tool that knows more than this one.
    throw numberedError(
      'log from a newer version',
      `event ${sequence} of ${this.path} is of a type that this tool does not know`,
    );
  }

  protected keptText(sha256: string): string | undefined {
    const text = numbered(this.path, () => this.text.all(sha256))[0]?.['text'];
    return typeof text === 'string' ? text : undefined;
  }

  protected corrupt(about: string, cause?: unknown): Error {
    return numberedError('log corrupt', `${this.path}: ${about}`, cause);
  }
}

function isOfJob(stored: StoredEvent<LogEvent>): stored is StoredEvent<JobEvent> {
  return isJobEvent(stored.event);
}

/** NUL cannot be kept in the list. */
function comparable(entry: JobEntry): string {
  return JSON.stringify(entry).replaceAll('\\u0000', ' ');
}

const ROWS = `SELECT sequence, CAST(at AS BLOB) AS at, CAST(previous AS BLOB) AS previous,
    CAST(job_previous AS BLOB) AS job_previous, CAST(event AS BLOB) AS event, CAST(hash AS BLOB) AS hash,
    CAST(signature AS BLOB) AS signature
  FROM events`;
const OF_FIXTURE = "WHERE event ->> '$.type' = 'captured' AND event ->> '$.fixtureId' = ?";
const STRUCTURE = 'SELECT CAST(integrity_check AS BLOB) AS said FROM pragma_integrity_check';
