/** A small log with events of several kinds over several pages, and how the fault tests make and compare it. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openLedger } from '../../../host/ledger/ledger';
import type { CapturedEvent, Ledger } from '../../../host/ledger/ledger';
import type { JobEvent, StoredEvent } from '../../../host/ledger/events';
import { loadProfile } from '../../../host/machines/load';

/** The first event of every log makes its key known. */
export const KEY = 1;

export const WRITER = 'bay one (invented)';

/** A clock that ticks a second a call, from a fixed start. */
export function tickingClock(startMs = Date.UTC(2026, 0, 2, 8)): () => Date {
  let seconds = 0;
  return () => new Date(startMs + 1000 * seconds++);
}

/** Goes on from one opening to the next: a log notes when its clock goes back. */
const LASTING_CLOCK = tickingClock();

export function newFolder(): string {
  return mkdtempSync(join(tmpdir(), 'swathplane-ledger-'));
}

export function open(path: string): Ledger {
  return openLedger(path, { writer: WRITER, now: LASTING_CLOCK });
}

export function opened(job: number): JobEvent {
  return {
    type: 'job opened',
    job,
    use: 'levelling',
    profile: loadProfile('quellbeck-133'),
    serialNumber: `QB-${job}`,
    workOrder: 'W 17',
    technician: 'A. Nobody',
    simulated: true,
  };
}

export function turned(job: number, turns: number): JobEvent {
  return { type: 'turned', job, adjuster: 'rear left', turns };
}

/** A capture as a fixture sends it; only the numbers that the log looks at mean anything. */
export function captured(
  job: number,
  capture: number,
  height = 75_123,
  fixtureId = 'fixture-7',
): CapturedEvent {
  return {
    type: 'captured',
    job,
    fixtureId,
    capture: {
      capture,
      bootCount: 3,
      uptimeMs: 120_000 + capture,
      job,
      step: capture,
      purpose: 1,
      trigger: 0,
      headPosition: 0,
      calibrationVersion: 2,
      samples: 64,
      countsMean: 3_000_000,
      countsSd: 900,
      drift: -3,
      gravityX: 1200,
      gravityY: -800,
      gravityZ: 999_000,
      turned: 0,
      temperature: 2150,
      waitedMs: 900,
      distance: 95_000,
      height,
    },
  };
}

/** The key, two jobs, forty captures, forty turns: 83 events. Gives those of the jobs, which are events 2 to 83. */
export function writeSample(path: string): StoredEvent[] {
  const ledger = open(path);
  for (const job of [1, 2]) {
    ledger.append(opened(job));
    for (let i = 1; i <= 20; i += 1) {
      ledger.keepCapture(captured(job, 20 * job + i));
      ledger.append(turned(job, i / 6));
    }
  }
  const events = ledger.events();
  ledger.close();
  return events;
}
