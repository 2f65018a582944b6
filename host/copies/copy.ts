/**
 * Copies a log into the database, from where the copy ends. Whatever is there already stays: an event that differs from
 * the copy of the same writer and number is refused, never written over.
 */
import { sql, type Transaction } from 'kysely';
import { numberedError } from '../errors/errors';
import type { RawEvent } from '../ledger/chain';
import { isJobEvent } from '../ledger/event-types';
import type { JobEvent } from '../ledger/events';
import { entryAfter, type JobEntry } from '../ledger/job-index';
import type { LedgerReader } from '../ledger/ledger';
import { atServer, type Server } from './server';
import { layOut, type CopiesDatabase, type Db, type EventRow, type JobRow } from './tables';

export type CopiedLog = Pick<LedgerReader, 'path' | 'writer' | 'rawEvents'>;

export interface Copied {
  /** Events that this call wrote. */
  readonly events: number;
  /** The last event that the database holds of this writer; 0: none. */
  readonly sequence: number;
}

const PAGE_EVENTS = 500;

/**
 * Copies until nothing is left, one page after the other, each all or nothing; may be broken off at any moment and begun
 * again, also by two at once. Errors: 282 and 283 (server), 284, 285 (the copy differs), 286 (the log ends before its copy).
 */
export async function copyLog(server: Server, log: CopiedLog, signal?: AbortSignal): Promise<Copied> {
  return atServer(server, async () => {
    await layOut(server);
    let events = 0;
    let sequence = await joined(server, log);
    for (;;) {
      const page = signal?.aborted === true ? [] : log.rawEvents(sequence, PAGE_EVENTS);
      const last = page.at(-1);
      if (last === undefined) return { events, sequence };
      events += await copyPage(server, log, page);
      sequence = last.sequence;
    }
  });
}

/** Where the copy ends, after it was seen to be the same chain up to there. */
async function joined({ db, name }: Server, log: CopiedLog): Promise<number> {
  const last = await lastCopied(db, log.writer);
  if (last === undefined) return 0;
  const [own] = log.rawEvents(last.sequence - 1, 1);
  if (own?.sequence === last.sequence) {
    if (own.hash !== last.hash) throw differs(name, own, last);
    return last.sequence;
  }
  // A restored log leaves out the numbers that the lost one had given, and says where it took up again.
  const restored =
    own === undefined ? undefined : (JSON.parse(own.eventJson) as { type?: unknown; from?: unknown });
  if (own === undefined || restored?.type !== 'log restored')
    throw numberedError(
      'log behind its copy',
      `${log.path} of ${log.writer} has no event ${last.sequence}, which ${name} holds`,
    );
  await checkBranch({ db, name }, log, Number(restored.from));
  return last.sequence;
}

/** The event from which a restored log took up again is the same in log and copy. */
async function checkBranch(
  { db, name }: Pick<Server, 'db' | 'name'>,
  log: CopiedLog,
  from: number,
): Promise<void> {
  const [own] = log.rawEvents(from - 1, 1);
  const [copy] = own === undefined ? [] : await copiesOf(db, log.writer, [from]);
  if (own === undefined || own.sequence !== from || copy === undefined) {
    throw numberedError(
      'log behind its copy',
      `${log.path} was restored from an event that ${name} does not hold`,
    );
  }
  if (copy.hash !== own.hash) throw differs(name, own, copy);
}

async function lastCopied(db: Db, writer: string) {
  return db
    .selectFrom('swathplane_events')
    .select(['sequence', 'hash'])
    .where('writer', '=', writer)
    .orderBy('sequence', 'desc')
    .limit(1)
    .executeTakeFirst();
}

function copiesOf(db: Db, writer: string, sequences: readonly number[]): Promise<EventRow[]> {
  return db
    .selectFrom('swathplane_events')
    .selectAll()
    .where('writer', '=', writer)
    .where('sequence', 'in', sequences)
    .execute();
}

/** How many events of the page were new. Those of one writer are copied by one at a time, so that its jobs are counted once. */
async function copyPage({ db, name }: Server, log: CopiedLog, page: readonly RawEvent[]): Promise<number> {
  const rows = page.map((raw) => rowOf(raw));
  return db.transaction().execute(async (t) => {
    await sql`SELECT pg_advisory_xact_lock(hashtext(${`swathplane ${log.writer}`}))`.execute(t);
    const written = await t
      .insertInto('swathplane_events')
      .values(rows)
      .onConflict((conflict) => conflict.columns(['writer', 'sequence']).doNothing())
      .returning('sequence')
      .execute();
    const isNew = new Set(written.map((w) => w.sequence));
    const there = rows.filter((r) => !isNew.has(r.sequence));
    if (there.length > 0) await compare(t, name, there);
    await keepJobs(
      t,
      log.writer,
      page.filter((raw) => isNew.has(raw.sequence)),
    );
    return written.length;
  });
}

async function compare(db: Db, name: string, rows: readonly EventRow[]): Promise<void> {
  const copies = new Map(
    (
      await copiesOf(
        db,
        rows[0]?.writer ?? '',
        rows.map((r) => r.sequence),
      )
    ).map((c) => [c.sequence, c]),
  );
  for (const row of rows) {
    const copy = copies.get(row.sequence);
    const isSame = copy !== undefined && COVERED.every((column) => copy[column] === row[column]);
    if (!isSame) throw differs(name, row, copy ?? { hash: 'none' });
  }
}

const COVERED = ['at', 'previous', 'job_previous', 'event', 'hash', 'signature'] as const;

function differs(
  name: string,
  own: { readonly writer: string; readonly sequence: number; readonly hash: string },
  copy: { readonly hash: string },
): Error {
  const short = (hash: string) => hash.slice(0, 12);
  return numberedError(
    'copy differs',
    `event ${own.sequence} of ${own.writer}: ${short(own.hash)} in the log, ${short(copy.hash)} in ${name}`,
  );
}

function rowOf(raw: RawEvent): EventRow {
  const { writer, sequence, at, previous, jobPrevious, eventJson, hash, signature } = raw;
  const { job } = JSON.parse(eventJson) as { job?: unknown };
  return {
    writer,
    sequence,
    at,
    previous,
    job_previous: jobPrevious,
    event: eventJson,
    hash,
    signature,
    job: typeof job === 'number' ? job : null,
  };
}

/** The entry of each job that these events concern, carried on from the one that stands there. */
async function keepJobs(
  t: Transaction<CopiesDatabase>,
  writer: string,
  fresh: readonly RawEvent[],
): Promise<void> {
  const events = fresh.flatMap(({ at, eventJson }) => {
    const event: unknown = JSON.parse(eventJson);
    return isJobEvent(event) ? [{ at, event }] : [];
  });
  const jobs = [...new Set(events.map(({ event }) => event.job))];
  if (jobs.length === 0) return;
  const known = await t
    .selectFrom('swathplane_jobs')
    .select(['job', 'entry'])
    .where('writer', '=', writer)
    .where('job', 'in', jobs)
    .execute();
  const entries = new Map(known.map(({ job, entry }) => [job, JSON.parse(entry) as JobEntry]));
  for (const { at, event } of events) {
    const entry = entryAfter(entries.get(event.job), withText(event), at);
    if (entry !== undefined) entries.set(event.job, entry);
  }
  const rows = [...entries.values()].map((entry) => jobRow(writer, entry));
  if (rows.length === 0) return;
  await t
    .insertInto('swathplane_jobs')
    .values(rows)
    .onConflict((conflict) =>
      conflict.columns(['writer', 'job']).doUpdateSet((x) => ({
        model: x.ref('excluded.model'),
        serial_number: x.ref('excluded.serial_number'),
        work_order: x.ref('excluded.work_order'),
        technicians: x.ref('excluded.technicians'),
        fixtures: x.ref('excluded.fixtures'),
        lowered: x.ref('excluded.lowered'),
        entry: x.ref('excluded.entry'),
      })),
    )
    .execute();
}

/** What may name a customer stands apart from the chain and is not copied: here is only its hash. */
function withText(event: JobEvent): JobEvent {
  return 'text' in event && typeof event.text !== 'string' ? { ...event, text: '' } : event;
}

function jobRow(writer: string, entry: JobEntry): JobRow {
  const { model, serialNumber, workOrder, technicians, fixtures, words } = entry;
  const all = [model, serialNumber, workOrder, ...technicians, ...fixtures, ...words, writer];
  return {
    writer,
    job: entry.job,
    at: entry.at,
    model: searched(model),
    serial_number: searched(serialNumber),
    work_order: searched(workOrder),
    technicians: searched(JSON.stringify(technicians)),
    fixtures: searched(JSON.stringify(fixtures)),
    lowered: searched(all.join('\n')),
    entry: JSON.stringify(entry),
  };
}

/** In small letters; the server takes no NUL in a text. */
export function searched(text: string): string {
  return text.toLowerCase().replaceAll('\0', ' ');
}
