/** The store at its bars: search, opening a job, appending beside SQLite's own durable insert into the same file. */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Sql } from '../../host/ledger/database';
import { openLedger, type JobQuery, type Ledger } from '../../host/ledger/ledger';
import { openJob, type JobDetails } from '../../host/conduct/open-job';
import { loadProfile } from '../../host/machines/load';
import { replay } from '../../host/procedure/state';
import { STORE_WRITER, writeLargeLog } from './large-log';

export interface StoreFigures {
  readonly events: number;
  readonly jobs: number;
  readonly megabytes: number;
  readonly searches: readonly { readonly what: string; readonly found: number; readonly medianMs: number }[];
  readonly openMedianMs: number;
  readonly newJobMedianMs: number;
  readonly appendMedianMs: number;
  readonly rawMedianMs: number;
}

const REPEATS = 100;
const NEW_JOBS = 9;
const APPENDS = 600;

export function storeFigures(events: number): StoreFigures {
  const folder = mkdtempSync(join(tmpdir(), 'swathplane-store-'));
  const path = join(folder, 'store.swathplane-log');
  try {
    const jobs = writeLargeLog(path, events);
    const ledger = openLedger(path, { writer: STORE_WRITER, now: () => new Date() });
    const megabytes = statSync(path).size / 1e6;
    const some = (i: number) => 1 + ((i * 7919) % jobs);
    const searches = QUERIES.map(({ what, query }) => {
      let found = 0;
      const medianMs = medianOf(REPEATS, (i) => (found += ledger.search(query(some(i))).length));
      return { what, found: Math.round(found / REPEATS), medianMs };
    });
    const openMedianMs = medianOf(REPEATS, (i) => replay(ledger.events(some(i)).map((e) => e.event)));
    const appended = appendBesideRaw(ledger, path, jobs);
    const newJobMedianMs = medianOf(NEW_JOBS, () => openJob(ledger, NEW_JOB));
    ledger.close();
    return { events, jobs, megabytes, searches, openMedianMs, newJobMedianMs, ...appended };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const NEW_JOB: JobDetails = {
  use: 'levelling',
  profile: loadProfile('pimwick-76'),
  serialNumber: 'SN-5',
  workOrder: '',
  technician: '',
  simulated: true,
};

const QUERIES: readonly { readonly what: string; readonly query: (job: number) => JobQuery }[] = [
  { what: 'serial number', query: (job) => ({ serialNumber: `SN-${job}` }) },
  { what: 'work order', query: (job) => ({ workOrder: `W ${job}` }) },
  { what: 'model, newest 50', query: () => ({ model: 'Pimwick 76', limit: 50 }) },
  { what: 'technician, newest 50', query: (job) => ({ technician: `Technician ${job % 12}`, limit: 50 }) },
  { what: 'text, newest 50', query: (job) => ({ text: `machine ${job}`, limit: 50 }) },
  { what: 'a day', query: () => ({ from: '2024-01-05', to: '2024-01-05' }) },
];

/** One by one, so that both meet the same moments of the machine. */
function appendBesideRaw(
  ledger: Ledger,
  path: string,
  job: number,
): Pick<StoreFigures, 'appendMedianMs' | 'rawMedianMs'> {
  const raw = Sql.open(path, 1000);
  raw.execute('PRAGMA synchronous = FULL');
  // What an event is made of, without index or key: the least that keeps it.
  raw.execute('CREATE TABLE raw (at TEXT, event TEXT, hash TEXT) STRICT');
  const insert = raw.prepare('INSERT INTO raw (at, event, hash) VALUES (?, ?, ?)');
  const [like] = ledger.rawEvents(50, 1);
  const [appendMs, rawMs]: [number[], number[]] = [[], []];
  for (let i = 0; i < APPENDS; i += 1) {
    appendMs.push(timed(() => ledger.append({ type: 'turned', job, adjuster: 'rear left', turns: i / 7 })));
    rawMs.push(timed(() => insert.run(like?.at ?? '', `${like?.eventJson}`, like?.hash ?? '')));
  }
  raw.execute('DROP TABLE raw');
  raw.close();
  return { appendMedianMs: median(appendMs), rawMedianMs: median(rawMs) };
}

function medianOf(times: number, work: (i: number) => unknown): number {
  return median(Array.from({ length: times }, (_, i) => timed(() => work(i))));
}

function timed(work: () => unknown): number {
  const started = performance.now();
  work();
  return performance.now() - started;
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? NaN;
}

export function storeText(figures: StoreFigures): string[] {
  const { events, jobs, megabytes, searches, openMedianMs, newJobMedianMs, appendMedianMs, rawMedianMs } =
    figures;
  const ms = (value: number) => `${value.toFixed(2)} ms`;
  return [
    `${events} events, ${jobs} jobs, ${megabytes.toFixed(0)} MB`,
    ...searches.map(
      ({ what, found, medianMs }) => `search by ${what}: median ${ms(medianMs)} (${found} found)`,
    ),
    `open a job (its events read, checked and replayed): median ${ms(openMedianMs)}`,
    `open a new job (its model's past jobs looked through for what they teach): median ${ms(newJobMedianMs)}`,
    `append, signed, durable: median ${ms(appendMedianMs)}; raw durable insert into the same file: median ${ms(rawMedianMs)}; ${(appendMedianMs / rawMedianMs).toFixed(2)} times`,
    'bars: search and opening at most 50 ms, append at most 1.5 times the raw insert',
  ];
}
