/**
 * `swathplane job` in a real terminal, with a fixture on a real tty: a person types, the fixture lies on its height master
 * all the time. The readings mean nothing; what counts is that every question can be answered by a key, that the job ends,
 * and that leaving it loses nothing.
 */
import { spawn, type IPty } from '@lydell/node-pty';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openLedgerForReading } from '../../host/ledger/ledger';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import { createSimulatedFixture } from '../../host/simulation/fixture';
import { AT_REST } from '../faults/link/rig';
import { openPseudoTerminal, type PseudoTerminal } from './pseudo-terminal';

const root = join(import.meta.dirname, '../..');
const log = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'records', 'bay.swathplane-log');
let tty: PseudoTerminal;
let stop: () => void;

beforeAll(async () => {
  const fixture = await createSimulatedFixture({
    world: { sceneAt: () => AT_REST },
    body: EXAMPLE_BODY,
    seed: 1,
  });
  const port = await fixture.openPort();
  tty = openPseudoTerminal((bytes) => port.write(Buffer.from(bytes)));
  port.on('data', (chunk: Buffer) => tty.write([...chunk]));
  const pump = setInterval(() => fixture.advance(50_000), 5);
  stop = () => {
    clearInterval(pump);
    tty.hangUp();
    port.close(() => fixture.close());
  };
});
afterAll(() => stop());

/** What a person presses for each question, found by its words. */
const ANSWERS: [RegExp, string][] = [
  [/return: read and confirmed/, '\r'],
  [/type the number/, '70\r'],
  [/y or return: yes/, 'y'],
  [/c or return: it carries/, 'c'],
  [/u: it is right/, 'u'],
  [/space, or the fixture's button/, ' '],
  [/return: done/, '\r'],
  // The tool sees that this deck never moves, whatever is turned, and asks.
  [/return: it was done as asked/, '\r'],
  [/return: refitted/, '\r'],
  [/return: pushed and pulled/, 'n'],
  [/return: replaced/, 'n'],
];

/** Runs the command in a terminal and answers until it ends or `leaveAfter` questions were answered. */
function answer(
  args: string[],
  leaveAfter = Infinity,
): Promise<{ code: number; text: string; asked: number }> {
  const terminal: IPty = spawn(process.execPath, [join(root, 'build/host/swathplane.js'), 'job', ...args], {
    cols: 160,
    rows: 50,
    cwd: root,
  });
  let text = '';
  let seen = 0;
  let asked = 0;
  terminal.onData((data) => {
    text += data;
    for (;;) {
      const question = /\[escape: leave the job open\]/.exec(text.slice(seen));
      if (question === null) return;
      const end = seen + question.index + question[0].length;
      const asking = text.slice(seen, end);
      seen = end;
      asked += 1;
      const key = ANSWERS.find(([words]) => words.test(asking))?.[1];
      terminal.write(asked > leaveAfter || key === undefined ? '\x1b' : key);
    }
  });
  return new Promise((resolve) =>
    terminal.onExit(({ exitCode }) => resolve({ code: exitCode, text, asked })),
  );
}

it(
  'a job can be left, gone on with, and worked to its end by single keys',
  { timeout: 120_000 },
  async () => {
    const given = ['--machine', 'pimwick-76', '--serial', 'INVENTED', '--port', tty.path, '--log', log];
    const left = await answer(given, 25);
    expect(left.text).toContain('E407');
    expect(left.code).toBe(3);
    expect(left.text).toContain('FIXTURE ON BLADE: do not start');
    const before = openLedgerForReading(log);
    const kept = before.events(1).length;
    before.close();
    expect(kept).toBeGreaterThan(20);

    const ended = await answer([...given, '--resume', '1']);
    expect(ended.text).toContain('Job 1 is closed');
    // All heights are alike: the deck has no rake, which this machine's limits do not allow.
    expect(ended.code).toBe(1);
    const after = openLedgerForReading(log);
    after.verify();
    const events = after.events(1).map(({ event }) => event);
    after.close();
    expect(events.at(-1)).toMatchObject({ type: 'job closed', decision: 'fail' });
    const captures = events.flatMap((e) => (e.type === 'captured' ? [e.capture.capture] : []));
    expect(new Set(captures).size).toBe(captures.length);
  },
);
