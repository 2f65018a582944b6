/**
 * The list of jobs beside the chain: one row for each job, for lists and search. It says nothing of its own: every row is
 * computed from the job's events as they are written, and verification computes it again.
 */
import type { Sql, SqlRow, SqlStatement } from './database';
import type { Decision, JobEvent, Use } from './events';

/** One job of a log, for a list. */
export interface JobEntry {
  readonly job: number;
  /** Set where the job is another writer's: who that is, and the event of this log that imported it. */
  readonly foreign?: { readonly writer: string; readonly importedAs: number };
  readonly use: Use;
  /** When it was opened, ISO 8601 in UTC. */
  readonly at: string;
  /** Undefined while the job is open. */
  readonly closedAt: string | undefined;
  readonly model: string;
  readonly serialNumber: string;
  readonly workOrder: string;
  /** All whose hands the job was in, in that order. */
  readonly technicians: readonly string[];
  readonly fixtures: readonly string[];
  readonly simulated: boolean;
  /** Undefined while the job is open. */
  readonly decision: Decision | undefined;
  /** What the shop itself wrote down, for a search. Customer's words are not in it. */
  readonly words: readonly string[];
}

/** What is searched for; everything given has to fit. Letters count the same large and small. */
export interface JobQuery {
  readonly serialNumber?: string;
  readonly model?: string;
  readonly technician?: string;
  readonly fixtureId?: string;
  readonly workOrder?: string;
  /** Anywhere in one of these, in what was written down of the job, or in the customer's texts that are kept. */
  readonly text?: string;
  /** Days of the opening in UTC, both included, as in `2026-01-31`. */
  readonly from?: string;
  readonly to?: string;
  /** At most so many, the newest. */
  readonly limit?: number;
}

/** A job's entry after one event more. Undefined while it has not been opened. */
export function entryAfter(entry: JobEntry | undefined, event: JobEvent, at: string): JobEntry | undefined {
  if (event.type === 'job opened')
    return {
      job: event.job,
      use: event.use,
      at,
      closedAt: undefined,
      model: event.profile.model,
      serialNumber: event.serialNumber,
      workOrder: event.workOrder,
      technicians: [event.technician],
      fixtures: [],
      simulated: event.simulated,
      decision: undefined,
      words: [],
    };
  if (entry === undefined) return undefined;
  switch (event.type) {
    case 'handed over':
      return { ...entry, technicians: withOne(entry.technicians, event.to) };
    case 'fixture joined':
      return { ...entry, fixtures: withOne(entry.fixtures, event.fixture.fixtureId) };
    case 'job closed':
      return { ...entry, closedAt: at, decision: event.decision };
    case 'job reopened':
      return {
        ...entry,
        closedAt: undefined,
        decision: undefined,
        words: withOne(entry.words, event.reason),
      };
    case 'claim stated':
      return event.field === 'complaint' ? entry : { ...entry, words: withOne(entry.words, event.text) };
    case 'prepared': {
      const said = typeof event.answer === 'object' && 'noted' in event.answer ? event.answer.noted : '';
      return { ...entry, words: withOne(entry.words, said) };
    }
    case 'set aside':
    case 'given up':
      return { ...entry, words: withOne(entry.words, event.reason) };
    default:
      return entry;
  }
}

function withOne(list: readonly string[], one: string): readonly string[] {
  return one === '' || list.includes(one) ? list : [...list, one];
}

/** `lowered` holds all that a text finds. */
export const JOBS_TABLE = `
  CREATE TABLE jobs (
    imported_as INTEGER NOT NULL,
    job INTEGER NOT NULL,
    writer TEXT NOT NULL,
    use TEXT NOT NULL,
    at TEXT NOT NULL,
    closed_at TEXT,
    model TEXT NOT NULL COLLATE NOCASE,
    serial_number TEXT NOT NULL COLLATE NOCASE,
    work_order TEXT NOT NULL COLLATE NOCASE,
    technicians TEXT NOT NULL,
    fixtures TEXT NOT NULL,
    simulated INTEGER NOT NULL,
    decision TEXT,
    words TEXT NOT NULL,
    lowered TEXT NOT NULL,
    PRIMARY KEY (imported_as, job)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX jobs_by_serial ON jobs (serial_number, at);
  CREATE INDEX jobs_by_model ON jobs (model, at);
  CREATE INDEX jobs_by_time ON jobs (at);`;

export class JobIndex {
  private readonly one: SqlStatement;
  private put: SqlStatement | undefined;

  /** `writer` is the log's own: jobs of others are foreign. */
  constructor(
    private readonly sql: Sql,
    private readonly writer: string,
  ) {
    this.one = sql.prepare(`SELECT ${COLUMNS} FROM jobs WHERE imported_as = ? AND job = ?`);
  }

  entry(job: number, importedAs = 0): JobEntry | undefined {
    const row = this.one.all(importedAs, job)[0];
    return row === undefined ? undefined : entryOf(row);
  }

  /** Oldest first without a query, newest first with one. */
  all(query?: JobQuery): JobEntry[] {
    const { where, values } = conditionsOf(query ?? {});
    const order = query === undefined ? 'imported_as, job' : 'at DESC, job DESC';
    const limit = query?.limit === undefined ? '' : ` LIMIT ${Math.trunc(query.limit)}`;
    const text = `SELECT ${COLUMNS} FROM jobs ${where} ORDER BY ${order}${limit}`;
    return this.sql
      .prepare(text)
      .all(...values)
      .map((row) => entryOf(row));
  }

  /** This writer's own. */
  open(): JobEntry[] {
    return this.sql
      .prepare(`SELECT ${COLUMNS} FROM jobs WHERE imported_as = 0 AND closed_at IS NULL ORDER BY job`)
      .all()
      .map((row) => entryOf(row));
  }

  /** Whether an event of this type can change an entry. */
  static concerns(event: JobEvent): boolean {
    return CHANGING.has(event.type);
  }

  keep(entry: JobEntry): void {
    this.put ??= this.sql.prepare(
      `INSERT OR REPLACE INTO jobs (${NAMES.join(', ')}, lowered) VALUES (${'?, '.repeat(NAMES.length)}?)`,
    );
    const { foreign, technicians, fixtures, words } = entry;
    this.put.run(
      foreign?.importedAs ?? 0,
      entry.job,
      foreign?.writer ?? this.writer,
      entry.use,
      entry.at,
      entry.closedAt ?? null,
      entry.model,
      entry.serialNumber,
      entry.workOrder,
      JSON.stringify(technicians),
      JSON.stringify(fixtures),
      entry.simulated ? 1 : 0,
      entry.decision ?? null,
      JSON.stringify(words),
      loweredOf(entry),
    );
  }
}

function loweredOf(entry: JobEntry): string {
  const { model, serialNumber, workOrder, technicians, fixtures, words, foreign } = entry;
  const all = [model, serialNumber, workOrder, ...technicians, ...fixtures, ...words, foreign?.writer ?? ''];
  return oneText(all.join('\n').toLowerCase());
}

/** SQLite ends a text at NUL, which the door to it refuses. */
function oneText(text: string): string {
  return text.replaceAll('\0', ' ');
}

/** Lists are kept as JSON: one of them is found as a whole by its own JSON text, quotes included. */
function listOf(text: string): string[] {
  try {
    return JSON.parse(text) as string[];
  } catch {
    // Damaged: the entry shows without them, and verification says so.
    return [];
  }
}

const CHANGING: ReadonlySet<JobEvent['type']> = new Set([
  'job opened',
  'handed over',
  'fixture joined',
  'job closed',
  'job reopened',
  'claim stated',
  'prepared',
  'set aside',
  'given up',
]);

const NAMES = [
  'imported_as',
  'job',
  'writer',
  'use',
  'at',
  'closed_at',
  'model',
  'serial_number',
  'work_order',
  'technicians',
  'fixtures',
  'simulated',
  'decision',
  'words',
];
/** Texts come as bytes, so that damaged ones are told from good ones (database.ts). */
const COLUMNS = NAMES.map((name) =>
  ['imported_as', 'job', 'simulated'].includes(name) ? name : `CAST(${name} AS BLOB) AS ${name}`,
).join(', ');

function entryOf(row: SqlRow): JobEntry {
  const text = (name: string) => String(row[name] ?? '');
  const optional = (name: string) => (row[name] === null ? undefined : text(name));
  const importedAs = Number(row['imported_as']);
  return {
    job: Number(row['job']),
    ...(importedAs === 0 ? {} : { foreign: { writer: text('writer'), importedAs } }),
    use: text('use') as Use,
    at: text('at'),
    closedAt: optional('closed_at'),
    model: text('model'),
    serialNumber: text('serial_number'),
    workOrder: text('work_order'),
    technicians: listOf(text('technicians')),
    fixtures: listOf(text('fixtures')),
    simulated: row['simulated'] === 1,
    decision: optional('decision') as Decision | undefined,
    words: listOf(text('words')),
  };
}

function conditionsOf(query: JobQuery): { readonly where: string; readonly values: readonly string[] } {
  const conditions: string[] = [];
  const values: string[] = [];
  const also = (condition: string, ...given: readonly string[]) => {
    conditions.push(condition);
    values.push(...given.map((text) => oneText(text)));
  };
  if (query.serialNumber !== undefined) also('serial_number = ?', query.serialNumber);
  if (query.model !== undefined) also('model = ?', query.model);
  if (query.workOrder !== undefined) also('work_order = ?', query.workOrder);
  if (query.technician !== undefined)
    also("technicians LIKE ? ESCAPE '\\'", anywhere(JSON.stringify(query.technician)));
  if (query.fixtureId !== undefined)
    also("fixtures LIKE ? ESCAPE '\\'", anywhere(JSON.stringify(query.fixtureId)));
  if (query.from !== undefined) also('at >= ?', query.from);
  if (query.to !== undefined) also('at < ?', `${query.to}~`);
  if (query.text !== undefined) {
    const pattern = anywhere(query.text.toLowerCase());
    also(
      `(lowered LIKE ? ESCAPE '\\' OR (imported_as = 0 AND job IN (SELECT job FROM texts WHERE lowered LIKE ? ESCAPE '\\')))`,
      pattern,
      pattern,
    );
  }
  return { where: conditions.length === 0 ? '' : `WHERE ${conditions.join(' AND ')}`, values };
}

function anywhere(text: string): string {
  return `%${text.replace(/[\\%_]/g, '\\$&')}%`;
}
