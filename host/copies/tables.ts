/** How copies lie in the database: the events as every bay wrote them, and one row for each job, for search. */
import { sql, type Kysely, type Transaction } from 'kysely';
import { numberedError } from '../errors/errors';
import type { Server } from './server';

export interface CopiesDatabase {
  swathplane_layout: { version: number };
  swathplane_events: EventRow;
  swathplane_jobs: JobRow;
}

/** An event of a log, byte by byte (host/ledger/FORMAT.md), with its job taken out of it. */
export interface EventRow {
  readonly writer: string;
  readonly sequence: number;
  readonly at: string;
  readonly previous: string;
  readonly job_previous: string;
  readonly event: string;
  readonly hash: string;
  readonly signature: string;
  /** Null where it belongs to none. */
  readonly job: number | null;
}

/** `entry` is the job's entry as JSON; the other columns are what is searched for, in small letters. */
export interface JobRow {
  readonly writer: string;
  readonly job: number;
  readonly at: string;
  readonly model: string;
  readonly serial_number: string;
  readonly work_order: string;
  readonly technicians: string;
  readonly fixtures: string;
  readonly lowered: string;
  readonly entry: string;
}

/** Raised when an older tool could misread the copies. */
const LAYOUT_VERSION = 1;
/** Any number that this tool alone uses: two bays that come first at the same moment lay out one after the other. */
const LAYOUT_LOCK = 0x53777468;

/** Makes the tables where there are none. Errors: 284 (a newer version's). */
export async function layOut({ db, name }: Server): Promise<void> {
  const version = await db.transaction().execute(async (t) => {
    await sql`SELECT pg_advisory_xact_lock(${LAYOUT_LOCK})`.execute(t);
    await makeTables(t);
    const found = await t.selectFrom('swathplane_layout').select('version').executeTakeFirst();
    if (found !== undefined) return found.version;
    await t.insertInto('swathplane_layout').values({ version: LAYOUT_VERSION }).execute();
    return LAYOUT_VERSION;
  });
  if (version > LAYOUT_VERSION)
    throw numberedError(
      'copies from a newer version',
      `${name} has layout ${version}, this tool knows ${LAYOUT_VERSION}`,
    );
}

/** Texts compare byte by byte (COLLATE "C"), as they do in the log, whatever the server's language. */
async function makeTables(t: Transaction<CopiesDatabase>): Promise<void> {
  await sql`CREATE TABLE IF NOT EXISTS swathplane_layout (version INTEGER PRIMARY KEY)`.execute(t);
  await sql`CREATE TABLE IF NOT EXISTS swathplane_events (
    writer TEXT COLLATE "C" NOT NULL,
    sequence INTEGER NOT NULL,
    at TEXT COLLATE "C" NOT NULL,
    previous TEXT NOT NULL,
    job_previous TEXT NOT NULL,
    event TEXT NOT NULL,
    hash TEXT NOT NULL,
    signature TEXT NOT NULL,
    job INTEGER,
    PRIMARY KEY (writer, sequence)
  )`.execute(t);
  await sql`CREATE INDEX IF NOT EXISTS swathplane_events_of_job
    ON swathplane_events (writer, job, sequence)`.execute(t);
  await sql`CREATE TABLE IF NOT EXISTS swathplane_jobs (
    writer TEXT COLLATE "C" NOT NULL,
    job INTEGER NOT NULL,
    at TEXT COLLATE "C" NOT NULL,
    model TEXT COLLATE "C" NOT NULL,
    serial_number TEXT COLLATE "C" NOT NULL,
    work_order TEXT COLLATE "C" NOT NULL,
    technicians TEXT NOT NULL,
    fixtures TEXT NOT NULL,
    lowered TEXT NOT NULL,
    entry TEXT NOT NULL,
    PRIMARY KEY (writer, job)
  )`.execute(t);
  await sql`CREATE INDEX IF NOT EXISTS swathplane_jobs_by_serial
    ON swathplane_jobs (serial_number, at)`.execute(t);
  await sql`CREATE INDEX IF NOT EXISTS swathplane_jobs_by_model ON swathplane_jobs (model, at)`.execute(t);
  await sql`CREATE INDEX IF NOT EXISTS swathplane_jobs_by_time ON swathplane_jobs (at)`.execute(t);
}

export type Db = Kysely<CopiesDatabase> | Transaction<CopiesDatabase>;
