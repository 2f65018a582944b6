/**
 * Many bays write captures at once, each copying its own log in the background, while the server is restarted twice. What
 * the database holds in the end is counted with SQL of our own, not through the tool.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import pg from 'pg';
import { copyLog } from '../../host/copies/copy';
import { followLog } from '../../host/copies/follow';
import { openServer } from '../../host/copies/server';
import { checkCopy } from '../../host/copies/shop';
import { openLedger } from '../../host/ledger/ledger';
import { captured, opened, tickingClock } from '../faults/ledger/sample-log';
import { postgresServer } from './postgres';

export interface ManyWriters {
  readonly writers: number;
  readonly captures: number;
  /** Restarts of the server while they were writing, by a stop that breaks every connection. */
  readonly restarts: number;
  /** Captures that the logs hold, and that the database holds, each counted once. */
  readonly written: number;
  readonly copied: number;
  readonly rows: number;
  /** Writers whose copy has another end than their log. */
  readonly ends: number;
  /** How often a bay's copying lost the server and waited for it. */
  readonly waits: number;
  /** Longest that a writer waited for one capture to be on its own disk, with all of this on one machine. */
  readonly longestMs: number;
}

export async function manyWriters(writers: number, captures: number, durable: boolean): Promise<ManyWriters> {
  const folder = mkdtempSync(join(tmpdir(), 'swathplane-bays-'));
  const server = await postgresServer({ durable });
  let waits = 0;
  const bays = Array.from({ length: writers }, (_, i) => {
    const path = join(folder, `bay-${i + 1}.swathplane-log`);
    const ledger = openLedger(path, { writer: `bay ${i + 1} (invented)`, now: tickingClock() });
    ledger.append(opened(1));
    const changed = ({ is }: { is: string }) => void (waits += is === 'waiting' ? 1 : 0);
    return { path, ledger, following: followLog(path, server.url, { changed, lookMs: 20, awayMs: 50 }) };
  });
  try {
    const restartAt = [Math.floor(captures / 3), Math.floor((2 * captures) / 3)];
    let longestMs = 0;
    for (let n = 1; n <= captures; n += 1) {
      for (const [i, { ledger }] of bays.entries()) {
        const began = performance.now();
        ledger.keepCapture(captured(1, n, 75_000 + n, `fixture-${i + 1}`));
        longestMs = Math.max(longestMs, performance.now() - began);
        await setImmediate();
      }
      if (restartAt.includes(n)) {
        server.stop('immediate');
        for (let k = 0; k < 50; k += 1) await setImmediate();
        server.start();
      }
    }
    await Promise.all(bays.map(({ following }) => following.stop(0)));
    const ends = await finish(
      server.url,
      bays.map(({ path, ledger }) => ({ path, ledger })),
    );
    const counted = await count(server.url);
    const written = bays.reduce(
      (sum, { ledger }) => sum + ledger.events().filter((e) => e.event.type === 'captured').length,
      0,
    );
    return { writers, captures, restarts: restartAt.length, written, ...counted, ends, waits, longestMs };
  } finally {
    for (const { ledger } of bays) ledger.close();
    server.remove();
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Copies the rest, checks every copy, and counts those that do not end as their log does. */
async function finish(
  url: string,
  bays: readonly { ledger: ReturnType<typeof openLedger> }[],
): Promise<number> {
  const server = openServer(url);
  let ends = 0;
  try {
    for (const { ledger } of bays) {
      const { sequence } = await copyLog(server, ledger);
      const events = await checkCopy(server, ledger.writer);
      const head = ledger.verify();
      if (sequence !== head.sequence || events !== head.events) ends += 1;
    }
  } finally {
    await server.close();
  }
  return ends;
}

async function count(url: string): Promise<{ copied: number; rows: number }> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    const { rows } = await client.query<{ copied: string; rows: string }>(
      `SELECT count(DISTINCT (writer, event::jsonb ->> 'fixtureId', event::jsonb -> 'capture' ->> 'capture')) AS copied,
         count(*) AS rows FROM swathplane_events WHERE event::jsonb ->> 'type' = 'captured'`,
    );
    return { copied: Number(rows[0]?.copied), rows: Number(rows[0]?.rows) };
  } finally {
    await client.end();
  }
}

export function manyWritersText(m: ManyWriters): string[] {
  return [
    `${m.writers} writers, ${m.captures} captures each, the server restarted ${m.restarts} times meanwhile (stopped at once, every connection broken)`,
    `captures in the logs: ${m.written}`,
    `captures in the database: ${m.copied}, in ${m.rows} rows`,
    `copies that do not end as their log does: ${m.ends}; chain and signatures of every copy checked`,
    `times that a bay's copying lost the server and waited: ${m.waits}`,
    `longest wait of a bay for a capture to be on its own disk: ${m.longestMs.toFixed(0)} ms, all bays and the server on one machine`,
  ];
}
