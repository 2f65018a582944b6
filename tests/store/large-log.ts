/** A log of as many events as asked for, made quickly: the rows are those that the ledger writes, in large transactions. */
import { canonicalJson } from '../../host/ledger/canonical';
import { CHAIN_START, chainHash } from '../../host/ledger/chain';
import { Sql } from '../../host/ledger/database';
import type { JobEvent } from '../../host/ledger/events';
import { entryAfter, JobIndex, type JobEntry } from '../../host/ledger/job-index';
import { readKey } from '../../host/ledger/keys';
import { openLedger } from '../../host/ledger/ledger';
import { loadProfile } from '../../host/machines/load';
import { captured } from '../faults/ledger/sample-log';

export const STORE_WRITER = 'bay of the store proof';
/** As many as a job of usual length writes. */
const EVENTS_OF_JOB = 100;
const MODELS = ['quellbeck-133', 'pimwick-76', 'orrinshaw-106', 'thrushmoor-248'];

/** Gives how many jobs there are. */
export function writeLargeLog(path: string, events: number): number {
  const now = () => new Date(Date.UTC(2024, 0, 1));
  const ledger = openLedger(path, { writer: STORE_WRITER, now });
  const first = ledger.seal();
  ledger.close();
  if (first === undefined) throw new Error('no first event');
  const key = readKey(path);
  const profiles = MODELS.map((name) => loadProfile(name));
  const sql = Sql.open(path, 1000);
  sql.prepare('PRAGMA synchronous = OFF').all();
  const insert = sql.prepare(
    'INSERT INTO events (sequence, at, previous, job_previous, event, hash, signature) VALUES (?, ?, ?, ?, ?, ?, ?)',
  );
  const index = new JobIndex(sql, STORE_WRITER);
  let { sequence, hash: previous } = first;
  let job = 0;
  while (sequence < events) {
    sql.transaction(() => {
      for (let jobs = 0; jobs < 50 && sequence < events; jobs += 1) {
        job += 1;
        let jobPrevious = CHAIN_START;
        let entry: JobEntry | undefined;
        for (const event of eventsOf(job, profiles[job % profiles.length] ?? loadProfile('pimwick-76'))) {
          if (sequence >= events) break;
          sequence += 1;
          const at = new Date(Date.UTC(2024, 0, 1) + sequence * 1000).toISOString();
          const eventJson = canonicalJson(event);
          const hash = chainHash({ writer: STORE_WRITER, sequence, at, previous, jobPrevious, eventJson });
          insert.run(sequence, at, previous, jobPrevious, eventJson, hash, key.sign(hash));
          entry = entryAfter(entry, event, at);
          previous = hash;
          jobPrevious = hash;
        }
        if (entry !== undefined) index.keep(entry);
      }
    });
  }
  sql.prepare('PRAGMA wal_checkpoint(TRUNCATE)').all();
  sql.close();
  return job;
}

function* eventsOf(job: number, profile: ReturnType<typeof loadProfile>): Generator<JobEvent> {
  yield {
    type: 'job opened',
    job,
    use: 'levelling',
    profile,
    serialNumber: `SN-${job}`,
    workOrder: `W ${Math.floor(job / 3)}`,
    technician: `Technician ${job % 12}`,
    simulated: true,
  };
  yield { type: 'deck seated', job, seating: 1 };
  yield { type: 'prepared', job, item: 'note', answer: { noted: `note of machine ${job}` } };
  for (let i = 3; i < EVENTS_OF_JOB; i += 2) {
    const number = job * EVENTS_OF_JOB + i;
    yield captured(job, number, 75_000 + (number % 977), `fixture-${job % 3}`);
    yield { type: 'turned', job, adjuster: 'rear left', turns: i / 7 };
  }
  yield { type: 'job closed', job, decision: job % 5 === 0 ? 'fail' : 'pass' };
}
