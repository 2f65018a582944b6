import { createHash } from 'node:crypto';
import { readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { openLedger, openLedgerForReading } from '../../../host/ledger/ledger';
import type { JobEvent } from '../../../host/ledger/events';
import {
  WRITER,
  captured,
  newFolder,
  open,
  opened,
  refusal,
  tickingClock,
  turned,
  writeSample,
} from '../../faults/ledger/sample-log';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));
let logs = 0;
const newPath = () => join(folder, `${(logs += 1)}.swathplane-log`);

describe('the log', () => {
  test('gives back what was appended, in order, with writer, sequence and time, also after opening again', () => {
    const path = newPath();
    const written = writeSample(path);
    expect(written.map((e) => e.sequence)).toEqual(Array.from({ length: 82 }, (_, i) => i + 1));
    expect(written[1]).toMatchObject({
      writer: WRITER,
      at: '2026-01-02T08:00:01.000Z',
      event: captured(1, 21),
    });
    const ledger = open(path);
    expect(ledger.events()).toEqual(written);
    expect([...ledger.events(1), ...ledger.events(2)]).toEqual(written);
    expect(ledger.events(3)).toEqual([]);
    expect(ledger.append(turned(2, 1)).sequence).toBe(83);
    expect(ledger.verify()).toEqual({ events: 83, head: ledger.events().at(-1)?.hash });
    ledger.close();
  });

  test('lists jobs and numbers the next one', () => {
    const path = newPath();
    const ledger = open(path);
    expect(ledger.nextJob()).toBe(1);
    ledger.append(opened(1));
    ledger.append(opened(4));
    ledger.append({ type: 'job closed', job: 1, decision: 'undecided' });
    expect(ledger.nextJob()).toBe(5);
    expect(ledger.jobs()).toEqual([
      {
        job: 1,
        at: '2026-01-02T08:00:00.000Z',
        model: 'Quellbeck 133',
        serialNumber: 'QB-1',
        workOrder: 'W 17',
        technician: 'A. Nobody',
        simulated: true,
        decision: 'undecided',
      },
      expect.objectContaining({ job: 4, decision: undefined }),
    ]);
    ledger.close();
  });

  test('a reader sees each event as soon as it is acknowledged', () => {
    const path = newPath();
    const ledger = open(path);
    const reader = openLedgerForReading(path);
    for (let i = 1; i <= 3; i += 1) {
      ledger.append(turned(1, i));
      expect(reader.events()).toHaveLength(i);
    }
    ledger.close();
    expect(reader.verify().events).toBe(3);
    reader.close();
  });

  test('what cannot be an event is refused and leaves no trace', () => {
    const path = newPath();
    const ledger = open(path);
    for (const wrong of [
      turned(1, Number.NaN),
      turned(1.5, 1),
      { type: 'polished', job: 1 } as unknown as JobEvent,
    ]) {
      expect(() => ledger.append(wrong)).toThrow(TypeError);
    }
    expect(ledger.append(turned(1, 2)).sequence).toBe(1);
    expect(ledger.verify().events).toBe(1);
    ledger.close();
  });
});

describe('captures', () => {
  test('are kept exactly once by fixture and number, also over a restart and in another job', () => {
    const path = newPath();
    const first = open(path);
    expect(first.keepCapture(captured(1, 5))).toBe('kept');
    expect(first.keepCapture(captured(1, 5))).toBe('already kept');
    expect(first.keepCapture(captured(1, 5, 75_123, 'fixture-8'))).toBe('kept');
    expect(() => first.append(captured(1, 5))).toThrow(TypeError);
    first.close();
    const second = open(path);
    // The same capture sent again while job 2 is in hand: only the host's field differs.
    expect(second.keepCapture({ ...captured(1, 5), job: 2 })).toBe('already kept');
    expect(second.keepCapture(captured(2, 9))).toBe('kept');
    expect(second.highestCapture('fixture-7')).toBe(9);
    expect(second.highestCapture('fixture-8')).toBe(5);
    expect(second.highestCapture('fixture-9')).toBe(0);
    expect(second.verify().events).toBe(3);
    second.close();
  });

  test('another reading under a kept number is refused with 257, not taken for the kept one', () => {
    const ledger = open(newPath());
    ledger.keepCapture(captured(1, 5, 75_000));
    const error = refusal(() => ledger.keepCapture(captured(1, 5, 75_001)));
    expect(error.number).toBe(257);
    expect(error.message).toContain('capture 5 of fixture fixture-7');
    expect(ledger.events()).toHaveLength(1);
    ledger.close();
  });
});

test('500 durable appends and their verification, with the speed printed', () => {
  const ledger = open(newPath());
  const startedMs = performance.now();
  for (let i = 1; i <= 500; i += 1) ledger.append(turned(1, i / 7));
  const appendedMs = performance.now();
  expect(ledger.verify().events).toBe(500);
  const verifiedMs = performance.now();
  const perSecond = Math.round(500_000 / (appendedMs - startedMs));
  console.log(
    `${perSecond} durable appends a second; verify ${((verifiedMs - appendedMs) * 20).toFixed(0)} ms per 10,000 events`,
  );
  ledger.close();
});

describe('FORMAT.md', () => {
  const blocks = [...readFileSync('host/ledger/FORMAT.md', 'utf8').matchAll(/```\n(.+)\n```/g)].map(
    (m) => m[1] ?? '',
  );

  test('its worked example is what the log writes', () => {
    const ledger = openLedger(newPath(), { writer: 'bay one', now: tickingClock() });
    ledger.append(turned(1, 0.5));
    ledger.append({ type: 'tightened', job: 1 });
    expect(ledger.events().map((e) => e.hash)).toEqual([blocks[1], blocks[3]]);
    ledger.close();
  });

  test('its worked example is true by SHA-256 alone', () => {
    const sha256 = (text: string) => createHash('sha256').update(text).digest('hex');
    expect(blocks).toHaveLength(4);
    expect([blocks[1], blocks[3]]).toEqual([sha256(blocks[0] ?? ''), sha256(blocks[2] ?? '')]);
    expect(blocks[2]?.startsWith(blocks[1] ?? '-')).toBe(true);
  });
});
