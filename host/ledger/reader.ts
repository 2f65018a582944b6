/** Reads a log, also while another process writes it. Whatever comes out has been checked against its hash. */
import { NumberedError, numberedError } from '../errors/errors';
import { CHAIN_START, chainHash } from './chain';
import type { Sql, SqlRow, SqlStatement, SqlValue } from './database';
import type { Decision, JobEvent, LogEvent, ShopEvent, StoredEvent } from './events';
import { isJobEvent, isLogEvent, isShopEvent } from './event-types';
import { numbered } from './fault';

/** One job of a log, for a list. */
export interface JobEntry {
  readonly job: number;
  /** When it was opened, ISO 8601 in UTC. */
  readonly at: string;
  readonly model: string;
  readonly serialNumber: string;
  readonly workOrder: string;
  readonly technician: string;
  readonly simulated: boolean;
  /** Undefined while the job is open. */
  readonly decision: Decision | undefined;
}

/** Where a chain ends: enough to tell later that nothing was changed or cut off. */
export interface ChainHead {
  readonly events: number;
  readonly head: string;
}

export interface LedgerReader {
  readonly path: string;
  /** Events in the order written, of one job or of all jobs. Throws 252 when one does not match its hash. */
  events(job?: number): StoredEvent[];
  /** What happened between jobs, in the order written. Throws 252. */
  shopEvents(): ShopEvent[];
  /** Jobs in the order opened. Throws 252. */
  jobs(): JobEntry[];
  /** Highest number of a kept capture of this fixture, 0 when there is none. */
  highestCapture(fixtureId: string): number;
  /** Checks every event, the chain, its end and the file's own structure. Throws 252 naming the first bad event. */
  verify(): ChainHead;
  close(): void;
}

const PAGE_ROWS = 500;

export class LogReader implements LedgerReader {
  readonly writer: string;
  private readonly page: SqlStatement;
  private readonly ofJob: SqlStatement;
  private readonly ofNoJob: SqlStatement;
  private readonly openedAndClosed: SqlStatement;
  private readonly capture: SqlStatement;
  private readonly highest: SqlStatement;
  private readonly last: SqlStatement;
  private readonly highestEver: SqlStatement;

  constructor(
    readonly path: string,
    protected readonly sql: Sql,
  ) {
    const writer = sql.prepare('SELECT CAST(name AS BLOB) AS name FROM writer').all();
    if (writer.length !== 1) throw numberedError('log corrupt', `${path} names ${writer.length} writers`);
    this.writer = String(writer[0]?.['name']);
    this.page = sql.prepare(`${ROWS} WHERE e.sequence > ? ORDER BY e.sequence LIMIT ?`);
    this.ofJob = sql.prepare(`${ROWS} WHERE e.event ->> '$.job' = ? ORDER BY e.sequence`);
    this.ofNoJob = sql.prepare(`${ROWS} WHERE e.event ->> '$.job' IS NULL ORDER BY e.sequence`);
    this.openedAndClosed = sql.prepare(
      `${ROWS} WHERE e.event ->> '$.type' IN ('job opened', 'job closed') ORDER BY e.sequence`,
    );
    this.capture = sql.prepare(`${ROWS} ${OF_FIXTURE} AND e.event ->> '$.capture.capture' = ?`);
    this.highest = sql.prepare(
      `SELECT CAST(max(e.event ->> '$.capture.capture') AS INTEGER) AS number FROM events e ${OF_FIXTURE}`,
    );
    this.last = sql.prepare(`${ROWS} ORDER BY e.sequence DESC LIMIT 1`);
    this.highestEver = sql.prepare(
      "SELECT CAST(seq AS INTEGER) AS seq FROM sqlite_sequence WHERE name = 'events'",
    );
  }

  events(job?: number): StoredEvent[] {
    const all = job === undefined ? [...this.pages()].flat() : this.checked(this.ofJob, job);
    return all.filter(isOfJob);
  }

  shopEvents(): ShopEvent[] {
    return this.checked(this.ofNoJob)
      .map((stored) => stored.event)
      .filter((event) => isShopEvent(event));
  }

  jobs(): JobEntry[] {
    const entries = new Map<number, JobEntry>();
    for (const { event, at } of this.checked(this.openedAndClosed)) {
      if (event.type === 'job opened') {
        const { job, profile, serialNumber, workOrder, technician, simulated } = event;
        entries.set(job, {
          job,
          at,
          model: profile.model,
          serialNumber,
          workOrder,
          technician,
          simulated,
          decision: undefined,
        });
      } else if (event.type === 'job closed') {
        const entry = entries.get(event.job);
        if (entry !== undefined) entries.set(event.job, { ...entry, decision: event.decision });
      }
    }
    return [...entries.values()];
  }

  highestCapture(fixtureId: string): number {
    return numbered(this.path, () => Number(this.highest.all(fixtureId)[0]?.['number'] ?? 0));
  }

  /** The kept capture of this number, if there is one. */
  keptCapture(fixtureId: string, capture: number): StoredEvent | undefined {
    return this.checked(this.capture, fixtureId, capture).find(isOfJob);
  }

  verify(): ChainHead {
    const end = { events: 0, head: CHAIN_START };
    for (const page of this.pages()) {
      for (const { sequence, hash } of page) {
        if (sequence !== end.events + 1) throw this.corrupt(`event ${end.events + 1} is missing`);
        end.events = sequence;
        end.head = hash;
      }
    }
    this.checkEnd(end.events);
    const report = numbered(this.path, () => this.sql.prepare(STRUCTURE).all());
    const said = String(report[0]?.['said']);
    if (said !== 'ok') throw this.corrupt(said);
    return end;
  }

  /** Where the chain ends, from its last event alone. Throws 252 when that event is bad or events after it were cut off. */
  end(): ChainHead {
    const last = this.checked(this.last)[0];
    this.checkEnd(last?.sequence ?? 0);
    return { events: last?.sequence ?? 0, head: last?.hash ?? CHAIN_START };
  }

  close(): void {
    numbered(this.path, () => this.sql.close());
  }

  private checkEnd(events: number): void {
    const ever = numbered(this.path, () => Number(this.highestEver.all()[0]?.['seq'] ?? 0));
    if (ever !== events)
      throw this.corrupt(`${ever} events were written, but the last one here is event ${events}`);
  }

  /** All events, page by page. Where a page cannot be read its events are read one by one, to name the first bad one. */
  private *pages(): Generator<StoredEvent<LogEvent>[]> {
    let after = 0;
    for (;;) {
      let page: StoredEvent<LogEvent>[];
      try {
        page = this.checked(this.page, after, PAGE_ROWS);
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
        if (this.checked(this.page, sequence - 1, 1).length === 0) return;
      } catch (fault) {
        if (!(fault instanceof NumberedError) || fault.number !== 252) throw fault;
        throw this.corrupt(
          `event ${sequence} is the first bad one: ${fault.about.replace(`${this.path}: `, '')}`,
          fault,
        );
      }
    }
  }

  private checked(statement: SqlStatement, ...values: readonly SqlValue[]): StoredEvent<LogEvent>[] {
    return numbered(this.path, () => statement.all(...values)).map((row) => this.check(row));
  }

  /** The event of a row, after its hash and its type are checked. */
  private check({ sequence, at, event, hash, previous }: SqlRow): StoredEvent<LogEvent> {
    if (
      typeof sequence !== 'number' ||
      typeof at !== 'string' ||
      typeof event !== 'string' ||
      typeof hash !== 'string'
    ) {
      throw this.corrupt('an event has no text where text belongs');
    }
    const previousHash = sequence === 1 ? CHAIN_START : previous;
    if (typeof previousHash !== 'string') throw this.corrupt(`event ${sequence - 1} is missing`);
    if (chainHash(previousHash, { writer: this.writer, sequence, at, eventJson: event }) !== hash) {
      throw this.corrupt(`event ${sequence} does not match its hash`);
    }
    return { writer: this.writer, sequence, at, event: this.typed(event, sequence), hash };
  }

  private typed(text: string, sequence: number): LogEvent {
    const event: unknown = JSON.parse(text);
    if (isLogEvent(event)) return event;
    // The hash holds, so this was written in good faith, by a tool that knows more than this one.
    throw numberedError(
      'log from a newer version',
      `event ${sequence} of ${this.path} is of a type that this tool does not know`,
    );
  }

  private corrupt(about: string, cause?: unknown): Error {
    return numberedError('log corrupt', `${this.path}: ${about}`, cause);
  }
}

function isOfJob(stored: StoredEvent<LogEvent>): stored is StoredEvent<JobEvent> {
  return isJobEvent(stored.event);
}

const ROWS = `SELECT e.sequence, CAST(e.at AS BLOB) AS at, CAST(e.event AS BLOB) AS event,
    CAST(e.hash AS BLOB) AS hash, CAST(p.hash AS BLOB) AS previous
  FROM events e LEFT JOIN events p ON p.sequence = e.sequence - 1`;
const OF_FIXTURE = "WHERE e.event ->> '$.type' = 'captured' AND e.event ->> '$.fixtureId' = ?";
const STRUCTURE = 'SELECT CAST(integrity_check AS BLOB) AS said FROM pragma_integrity_check';
