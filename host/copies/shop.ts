/** Reads the copies of all bays: search over the shop, the events of any job, and whether the copies are whole. */
import { numberedError } from '../errors/errors';
import { chainHash, type RawEvent } from '../ledger/chain';
import { ChainCheck } from '../ledger/chain-check';
import { isJobEvent } from '../ledger/event-types';
import type { StoredEvent } from '../ledger/events';
import type { JobEntry, JobQuery } from '../ledger/job-index';
import { searched } from './copy';
import { atServer, type Server } from './server';
import { layOut, type EventRow } from './tables';

/** A job of any bay. */
export interface ShopJob {
  readonly writer: string;
  readonly entry: JobEntry;
}

/** Where the copy of a writer's log ends. */
export interface CopyHead {
  readonly writer: string;
  readonly events: number;
  readonly sequence: number;
  readonly at: string;
  readonly hash: string;
}

/** Shown in place of a text that stands apart from the chain in the bay's own log. */
const NOT_COPIED = '(kept at its bay)';

/** Jobs of all bays that fit, newest first. Errors: 282 to 284. */
export function searchShop(server: Server, query: JobQuery): Promise<ShopJob[]> {
  return atServer(server, async () => {
    await layOut(server);
    let rows = server.db.selectFrom('swathplane_jobs').select(['writer', 'entry']);
    const { serialNumber, model, workOrder, technician, fixtureId, from, to, text, limit } = query;
    if (serialNumber !== undefined) rows = rows.where('serial_number', '=', searched(serialNumber));
    if (model !== undefined) rows = rows.where('model', '=', searched(model));
    if (workOrder !== undefined) rows = rows.where('work_order', '=', searched(workOrder));
    if (technician !== undefined)
      rows = rows.where('technicians', 'like', anywhere(JSON.stringify(technician)));
    if (fixtureId !== undefined) rows = rows.where('fixtures', 'like', anywhere(JSON.stringify(fixtureId)));
    if (from !== undefined) rows = rows.where('at', '>=', from);
    if (to !== undefined) rows = rows.where('at', '<', `${to}~`);
    if (text !== undefined) rows = rows.where('lowered', 'like', anywhere(text));
    const ordered = rows.orderBy('at', 'desc').orderBy('writer').orderBy('job', 'desc');
    const found = await (limit === undefined ? ordered : ordered.limit(Math.trunc(limit))).execute();
    return found.map(({ writer, entry }) => ({ writer, entry: JSON.parse(entry) as JobEntry }));
  });
}

function anywhere(text: string): string {
  return `%${searched(text).replace(/[\\%_]/g, '\\$&')}%`;
}

/** Every writer whose log is copied, by name. Errors: 282 to 284. */
export function copyHeads(server: Server): Promise<CopyHead[]> {
  return atServer(server, async () => {
    await layOut(server);
    const { db } = server;
    const ends = await db
      .selectFrom('swathplane_events')
      .select((x) => ['writer', x.fn.countAll<string>().as('events'), x.fn.max('sequence').as('last')])
      .groupBy('writer')
      .orderBy('writer')
      .execute();
    const heads: CopyHead[] = [];
    for (const { writer, events, last } of ends) {
      const end = await db
        .selectFrom('swathplane_events')
        .select(['at', 'hash'])
        .where('writer', '=', writer)
        .where('sequence', '=', last)
        .executeTakeFirstOrThrow();
      heads.push({ writer, events: Number(events), sequence: last, ...end });
    }
    return heads;
  });
}

/** The events of a job of any bay, each checked against its hash. Errors: 256, 282 to 284, 287. */
export function jobEvents(server: Server, writer: string, job: number): Promise<StoredEvent[]> {
  return atServer(server, async () => {
    await layOut(server);
    const rows = await server.db
      .selectFrom('swathplane_events')
      .selectAll()
      .where('writer', '=', writer)
      .where('job', '=', job)
      .orderBy('sequence')
      .execute();
    if (rows.length === 0) throw numberedError('no such job', `job ${job} of ${writer}`);
    return rows.flatMap((row) => {
      const raw = rawOf(row);
      if (chainHash(raw) !== raw.hash) throw damaged(server, raw);
      const event: unknown = JSON.parse(raw.eventJson);
      if (!isJobEvent(event)) return [];
      const shown =
        'text' in event && typeof event.text !== 'string' ? { ...event, text: NOT_COPIED } : event;
      return [{ writer, sequence: raw.sequence, at: raw.at, event: shown, hash: raw.hash }];
    });
  });
}

const PAGE_EVENTS = 1000;

/**
 * Checks the copy of a writer's log as the log itself is checked: hashes, links, signatures, numbers. What a lost log had
 * written after the backup that it was restored from is a branch of its own, of which hashes and links are checked. Gives
 * how many events the copy holds. Errors: 282 to 284, 287 naming the first bad event.
 */
export function checkCopy(server: Server, writer: string): Promise<number> {
  return atServer(server, async () => {
    await layOut(server);
    const lost = await lostRanges(server, writer);
    const chain = new ChainCheck(writer);
    let before: RawEvent | undefined;
    let events = 0;
    for await (const raw of eventsOf(server, writer)) {
      const inLost = lost.some(({ from, to }) => raw.sequence > from && raw.sequence < to);
      const fault = inLost ? branchFault(before, raw) : chain.next(raw)[0]?.what;
      if (fault !== undefined) throw damaged(server, raw, fault);
      before = raw;
      events += 1;
    }
    return events;
  });
}

function branchFault(before: RawEvent | undefined, raw: RawEvent): string | undefined {
  if (chainHash(raw) !== raw.hash) return `event ${raw.sequence} does not match its hash`;
  if (raw.previous !== before?.hash) return `event ${raw.sequence} does not follow from the event before it`;
  return undefined;
}

/** Between the event that a restored log took up from and the one that says so. */
async function lostRanges({ db }: Server, writer: string): Promise<{ from: number; to: number }[]> {
  const rows = await db
    .selectFrom('swathplane_events')
    .select(['sequence', 'event'])
    .where('writer', '=', writer)
    .where('job', 'is', null)
    .where('event', 'like', '%"type":"log restored"%')
    .execute();
  return rows.flatMap(({ sequence, event }) => {
    const { type, from } = JSON.parse(event) as { type?: unknown; from?: unknown };
    return type === 'log restored' && typeof from === 'number' ? [{ from, to: sequence }] : [];
  });
}

async function* eventsOf({ db }: Server, writer: string): AsyncGenerator<RawEvent> {
  for (let after = 0; ;) {
    const page = await db
      .selectFrom('swathplane_events')
      .selectAll()
      .where('writer', '=', writer)
      .where('sequence', '>', after)
      .orderBy('sequence')
      .limit(PAGE_EVENTS)
      .execute();
    for (const row of page) yield rawOf(row);
    const last = page.at(-1);
    if (last === undefined || page.length < PAGE_EVENTS) return;
    after = last.sequence;
  }
}

function damaged(
  { name }: Server,
  { writer, sequence }: { readonly writer: string; readonly sequence: number },
  what = `event ${sequence} does not match its hash`,
): Error {
  return numberedError('copies damaged', `${name}, copy of ${writer}: ${what}`);
}

function rawOf({ writer, sequence, at, previous, job_previous, event, hash, signature }: EventRow): RawEvent {
  return { writer, sequence, at, previous, jobPrevious: job_previous, eventJson: event, hash, signature };
}
