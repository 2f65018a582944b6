/**
 * `swathplane job` in a real terminal, with a fixture on a real tty: a person types, the fixture lies on its height master
 * all the time. The readings mean nothing; what counts is that every question can be answered by a key, that the job ends,
 * and that leaving it loses nothing.
 */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { JobEvent } from '../../host/ledger/events';
import { openLedgerForReading } from '../../host/ledger/ledger';
import { ANSWERS, fixtureOnTty, talk } from './bench';

const newLog = () => join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'records', 'bay.swathplane-log');
let one: Awaited<ReturnType<typeof fixtureOnTty>>;
let two: typeof one;

beforeAll(async () => {
  one = await fixtureOnTty('SIM-ONE');
  two = await fixtureOnTty('SIM-TWO');
});
afterAll(() => [one, two].forEach((fixture) => fixture.stop()));

function eventsIn(log: string, job: number): JobEvent[] {
  const ledger = openLedgerForReading(log);
  ledger.verify();
  const events = ledger.events(job).map((e) => e.event);
  ledger.close();
  return events;
}

it(
  'a job can be left, gone on with, and worked to its end by single keys',
  { timeout: 120_000 },
  async () => {
    const log = newLog();
    const given = [
      'job',
      '--machine',
      'pimwick-76',
      '--serial',
      'INVENTED',
      '--port',
      one.path,
      '--log',
      log,
    ];
    const left = await talk(given, ANSWERS, 25);
    expect(left.text).toContain('E407');
    expect(left.code).toBe(3);
    expect(left.text).toContain('FIXTURE ON BLADE: do not start');
    expect(eventsIn(log, 1).length).toBeGreaterThan(20);

    const ended = await talk([...given, '--resume', '1']);
    expect(ended.text).toContain('Job 1 is closed');
    // All heights are alike: the deck has no rake, which this machine's limits do not allow.
    expect(ended.code).toBe(1);
    const events = eventsIn(log, 1);
    expect(events.at(-1)).toMatchObject({ type: 'job closed', decision: 'fail' });
    const captures = events.flatMap((e) => (e.type === 'captured' ? [e.capture.capture] : []));
    expect(new Set(captures).size).toBe(captures.length);
  },
);

it(
  'a batch: three inputs from the scan to the first reading of the next machine',
  { timeout: 120_000 },
  async () => {
    const log = newLog();
    const given = [
      'job',
      '--use',
      'inspection',
      '--batch',
      '--machine',
      'pimwick-76',
      '--serial',
      'INVENTED-1',
    ];
    const next = [
      [/Next machine of the batch/y, 'INVENTED-2\r'],
      [/Next machine of the batch/, '\r'],
    ] as const;
    const done = await talk(
      [...given, '--port', one.path, '--log', log],
      [...next.map(anywhere), [/type the number/, 'y'], ...ANSWERS],
    );
    expect(done.text).toContain('Job 2 is closed');
    const scan = done.asked.findIndex((a) => a.pressed === 'INVENTED-2\r');
    const reading = done.asked.findIndex(
      (a, i) => i > scan && a.question.includes("fixture's button: capture"),
    );
    expect(reading - scan).toBeLessThanOrEqual(3);
    const second = eventsIn(log, 2);
    expect(second[0]).toMatchObject({
      type: 'job opened',
      serialNumber: 'INVENTED-2',
      carried: { fromJob: 1 },
    });
    expect(second).toContainEqual({ type: 'carried over', job: 2, answer: 'the same' });
  },
);

it('without a fixture a ruler serves; the record says so', { timeout: 120_000 }, async () => {
  const log = newLog();
  const given = ['job', '--use', 'inspection', '--ruler', '--machine', 'pimwick-76', '--log', log];
  const done = await talk(given, [[/type the height in mm/, '71,5\r'], ...ANSWERS]);
  expect(done.text).toContain('Job 1 is closed');
  const read = eventsIn(log, 1).filter((e) => e.type === 'ruler read');
  expect(read.length).toBeGreaterThan(3);
  expect(read.every((e) => e.heightMm === 71.5)).toBe(true);
  const shown = await talk(['records', '1', '--log', log]);
  expect(shown.text).toContain('READ WITH A RULER');
});

it(
  'two fixtures share the tips, and each has to come back to its height master',
  { timeout: 120_000 },
  async () => {
    const log = newLog();
    const given = ['job', '--use', 'inspection', '--machine', 'orrinshaw-106', '--log', log];
    // Lying on no edge at all, the first of them fails its daily check; nobody checks the second.
    const check = await talk(['check', '--port', one.path, '--log', log]);
    expect(check.text).toContain('out of control');
    expect(check.code).toBe(1);
    const done = await talk([...given, '--port', one.path, two.path]);
    expect(done.text).toContain('Job 2 is closed');
    const events = eventsIn(log, 2);
    expect(events.find((e) => e.type === 'instruments known')).toMatchObject({
      known: { fixtures: [{ fixtureId: 'SIM-ONE', check: { state: 'out of control' } }] },
    });
    const shown = (await talk(['records', '2', '--log', log])).text;
    expect(shown).toMatch(/Fixture SIM-ONE[^\n]*daily check of [\d-]+: out of control/);
    expect(shown).toMatch(/Fixture SIM-TWO[^\n]*not under daily check/);
    for (const fixtureId of ['SIM-ONE', 'SIM-TWO']) {
      const asked = events.flatMap((e) =>
        e.type === 'step asked' && e.fixtureId === fixtureId ? [e.target] : [],
      );
      expect(asked.some((t) => t.kind === 'tip')).toBe(true);
      for (const when of ['opening', 'closing'] as const)
        expect(asked.filter((t) => t.kind === 'master' && t.when === when)).toHaveLength(2);
    }
  },
);

it(
  'a job is handed over, put right and opened again by events, under a name',
  { timeout: 120_000 },
  async () => {
    const log = newLog();
    const given = ['job', '--use', 'inspection', '--ruler', '--machine', 'pimwick-76', '--log', log];
    await talk(given, [[/type the height in mm/, '70\r'], ...ANSWERS]);
    const correct = (...args: string[]) => talk(['correct', '1', ...args, '--log', log]);
    expect((await correct('--reopen', '--reason', 'owner came back')).text).toContain('E409');
    expect((await correct('--restore', '1', '--reason', 'x')).text).toContain('E406');
    const opened = await correct(
      '--reopen',
      '--read-again',
      '--by',
      'Ola Invented',
      '--reason',
      'owner came back',
    );
    expect(opened.code).toBe(0);
    expect((await correct('--hand-over', 'Kim Invented')).code).toBe(0);
    expect((await correct('--restore', '1', '--reason', 'x')).text).toContain('E408');
    const again = await talk(
      [...given.slice(0, 4), '--resume', '1', '--log', log],
      [[/type the height in mm/, '70\r'], ...ANSWERS],
    );
    expect(again.text).toContain('Job 1 is closed');
    const shown = await talk(['records', '1', '--log', log]);
    expect(shown.text).toContain('opened again by Ola Invented: owner came back');
    expect(shown.text).toContain('Read again');
    expect(eventsIn(log, 1).filter((e) => e.type === 'cautions confirmed')).toHaveLength(2);
  },
);

/** Matches anywhere in the question, not only where a sticky pattern would look. */
function anywhere([words, keys]: readonly [RegExp, string]): readonly [RegExp, string] {
  return [new RegExp(`[^]*${words.source}`, words.flags), keys];
}
