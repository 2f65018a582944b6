import { createHash, createPrivateKey } from 'node:crypto';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { RFC_8032_KEYS } from './rfc-8032';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { openLedger, openLedgerForReading } from '../../../host/ledger/ledger';
import type { JobEvent } from '../../../host/ledger/events';
import {
  KEY,
  WRITER,
  captured,
  newFolder,
  open,
  opened,
  tickingClock,
  turned,
  writeSample,
} from '../../faults/ledger/sample-log';
import { refusal } from '../../refusal';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));
let logs = 0;
const newPath = () => join(folder, `${(logs += 1)}.swathplane-log`);

describe('the log', () => {
  test('gives back what was appended, in order, with writer, sequence and time, also after opening again', () => {
    const path = newPath();
    const written = writeSample(path);
    expect(written.map((e) => e.sequence)).toEqual(Array.from({ length: 82 }, (_, i) => KEY + i + 1));
    expect(written[1]).toMatchObject({ writer: WRITER, event: captured(1, 21) });
    expect(Date.parse(written[1]?.at ?? '') - Date.parse(written[0]?.at ?? '')).toBe(1000);
    const ledger = open(path);
    expect(ledger.events()).toEqual(written);
    expect([...ledger.events(1), ...ledger.events(2)]).toEqual(written);
    expect(ledger.events(3)).toEqual([]);
    expect(ledger.append(turned(2, 1)).sequence).toBe(84);
    expect(ledger.verify()).toEqual({ events: 84, sequence: 84, head: ledger.events().at(-1)?.hash });
    ledger.close();
  });

  test('lists jobs and numbers the next one', () => {
    const ledger = openLedger(newPath(), { writer: WRITER, now: tickingClock() });
    expect(ledger.nextJob()).toBe(1);
    ledger.append(opened(1));
    ledger.append(opened(4));
    ledger.append({ type: 'job closed', job: 1, decision: 'undecided' });
    expect(ledger.nextJob()).toBe(5);
    expect(ledger.jobs()).toEqual([
      {
        job: 1,
        use: 'levelling',
        at: '2026-01-02T08:00:01.000Z',
        closedAt: '2026-01-02T08:00:03.000Z',
        model: 'Quellbeck 133',
        serialNumber: 'QB-1',
        workOrder: 'W 17',
        technicians: ['A. Nobody'],
        fixtures: [],
        words: [],
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
    expect(reader.verify().events).toBe(KEY + 3);
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
    expect(ledger.append(turned(1, 2)).sequence).toBe(KEY + 1);
    expect(ledger.verify().events).toBe(KEY + 1);
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
    expect(second.verify().events).toBe(KEY + 3);
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
  expect(ledger.verify().events).toBe(KEY + 500);
  const verifiedMs = performance.now();
  const perSecond = Math.round(500_000 / (appendedMs - startedMs));
  console.log(
    `${perSecond} durable appends a second; verify ${((verifiedMs - appendedMs) * 20).toFixed(0)} ms per 10,000 events`,
  );
  ledger.close();
});

describe('FORMAT.md', () => {
  const blocks = [...readFileSync('host/ledger/FORMAT.md', 'utf8').matchAll(/```\n([^`]+)```/g)].map((m) =>
    (m[1] ?? '').split('\n').slice(0, -1),
  );

  test('its worked example is what the log writes with the first key of RFC 8032, section 7.1', () => {
    const path = newPath();
    const der = `302e020100300506032b657004220420${RFC_8032_KEYS[0].secret}`;
    const key = createPrivateKey({ key: Buffer.from(der, 'hex'), format: 'der', type: 'pkcs8' });
    writeFileSync(`${path}-key`, key.export({ type: 'pkcs8', format: 'pem' }));
    const ledger = openLedger(path, { writer: 'bay one', now: tickingClock() });
    ledger.append(turned(1, 0.5));
    ledger.append({ type: 'tightened', job: 1 });
    const written = ledger.rawEvents(0, 10);
    ledger.close();
    for (const [i, event] of written.entries()) {
      const { writer, sequence, at, previous, jobPrevious, eventJson, hash, signature } = event;
      expect(blocks[2 * i]).toEqual([writer, `${sequence}`, at, previous, jobPrevious, eventJson]);
      expect(blocks[2 * i + 1]).toEqual([hash, signature]);
    }
  });

  test('its worked example is true by SHA-256 alone', () => {
    for (const i of [0, 2, 4]) {
      const lines = `${(blocks[i] ?? []).join('\n')}\n`;
      expect(createHash('sha256').update(lines).digest('hex')).toBe(blocks[i + 1]?.[0]);
    }
  });
});
