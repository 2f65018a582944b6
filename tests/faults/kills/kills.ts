/**
 * `swathplane job` as a process of its own, with the real firmware on a real pseudo-terminal, killed (SIGKILL) again and
 * again while readings are taken, and gone on with each time. The fixture lives on and knows what it was told.
 */
import { spawn } from '@lydell/node-pty';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { openLedgerForReading } from '../../../host/ledger/ledger';
import type { Program } from '../../../host/ledger/program';
import { verifyLog, type Verification } from '../../../host/ledger/verify';
import { openLink, openSerialPort } from '../../../host/link/index';
import { ANSWERS, fixtureOnTty } from '../../tty/bench';

export interface Kills {
  readonly kills: number;
  readonly jobs: number;
  /** Captures that the fixture has taken, by its own word, and those that it still held at the end. */
  readonly taken: number;
  readonly held: readonly number[];
  /** Capture numbers in the log, in the order written. */
  readonly logged: readonly number[];
  readonly verified: Verification;
}

const QUESTION = /\[escape: leave the job open\]/;
const CAPTURE = /space, or the fixture's button/;
/** A reading takes this fixture about a fifth of a second here. */
const LATEST_MS = 400;

export async function killCampaign({
  kills,
  seed,
}: {
  readonly kills: number;
  readonly seed: number;
}): Promise<Kills> {
  const random = xoroshiro128plus(seed);
  const folder = mkdtempSync(join(tmpdir(), 'swathplane-kills-'));
  const log = join(folder, 'bay.swathplane-log');
  const fixture = await fixtureOnTty('SIM-KILLED');
  const given = [
    'job',
    '--machine',
    'pimwick-76',
    '--use',
    'diagnosis',
    '--port',
    fixture.path,
    '--log',
    log,
  ];
  try {
    for (let done = 0; done < kills;) {
      const open = openJob(log);
      const resume = open === undefined ? [] : ['--resume', `${open}`];
      const after = { captures: uniformInt(random, 1, 5), ms: uniformInt(random, 0, LATEST_MS) };
      if ((await runAndKill([...given, ...resume], after)) === 'killed') done += 1;
    }
    // The last run is left to end, so that nothing is under way.
    const open = openJob(log);
    if (open !== undefined) await runAndKill([...given, '--resume', `${open}`], undefined);
    const { taken, held } = await askFixture(fixture.path);
    return { kills, ...readLog(log), taken, held };
  } finally {
    fixture.stop();
    rmSync(folder, { recursive: true });
  }
}

/** The job that was left open, if one was. */
function openJob(log: string): number | undefined {
  try {
    const reader = openLedgerForReading(log);
    const [open] = reader.openJobs();
    reader.close();
    return open?.job;
  } catch {
    return undefined;
  }
}

/** Answers every question; kills so long after that many captures were asked for. */
function runAndKill(
  args: readonly string[],
  after: { readonly captures: number; readonly ms: number } | undefined,
): Promise<'killed' | 'ended'> {
  const terminal = spawn(process.execPath, ['build/host/swathplane.js', ...args], { cols: 200, rows: 50 });
  let text = '';
  let captures = 0;
  let killed = false;
  terminal.onData((data) => {
    text += data;
    for (let found = QUESTION.exec(text); found !== null; found = QUESTION.exec(text)) {
      const question = text.slice(0, found.index);
      text = text.slice(found.index + found[0].length);
      terminal.write(ANSWERS.find(([words]) => words.test(question))?.[1] ?? '\x1b');
      if (!CAPTURE.test(question) || after === undefined) continue;
      captures += 1;
      if (captures !== after.captures) continue;
      setTimeout(() => {
        killed = true;
        terminal.kill('SIGKILL');
      }, after.ms);
    }
  });
  return new Promise((resolve) => terminal.onExit(() => resolve(killed ? 'killed' : 'ended')));
}

/** What the fixture itself says: the number it would give next, and what it still holds unacknowledged. */
async function askFixture(
  path: string,
): Promise<{ readonly taken: number; readonly held: readonly number[] }> {
  const held: number[] = [];
  const link = await openLink({
    name: path,
    open: () => openSerialPort(path),
    keep: ({ capture }) => {
      held.push(capture);
      return 'kept';
    },
    listeners: {},
  });
  const armed = await link.request('arm', { job: 0, step: 0, purpose: 1, liveHz: 0, standardErrorUm: 100 });
  await link.request('disarm', {});
  await link.close();
  return { taken: armed.nextCapture - 1, held };
}

function readLog(log: string): Pick<Kills, 'jobs' | 'logged' | 'verified'> {
  const reader = openLedgerForReading(log);
  const solvers = new Map<string, Program>();
  const verified = verifyLog(reader, { rejudge: true, programOf: (hash) => solvers.get(hash) });
  const logged = reader
    .events()
    .flatMap(({ event }) => (event.type === 'captured' ? [event.capture.capture] : []));
  const jobs = reader.jobs().length;
  reader.close();
  return { jobs, logged, verified };
}

/** What went wrong; empty when nothing did. */
export function losses({ taken, held, logged, verified }: Kills): string[] {
  const known = new Set(logged);
  const lost = Array.from({ length: taken }, (_, i) => i + 1).filter(
    (n) => !known.has(n) && !held.includes(n),
  );
  return [
    ...(lost.length === 0 ? [] : [`captures ${lost.join(', ')} are lost`]),
    ...(known.size === logged.length ? [] : [`${logged.length - known.size} captures stand twice`]),
    ...verified.faults,
    ...verified.open,
  ];
}

export function killText(result: Kills): string[] {
  const { kills, jobs, taken, held, logged, verified } = result;
  const wrong = losses(result);
  return [
    `\`swathplane job\` killed ${kills} times (kill -9) while readings were taken and gone on with each time: ${jobs} jobs`,
    `captures taken, by the fixture's own word: ${taken}; in the log: ${logged.length}; still held by the fixture: ${held.length}`,
    `lost, doubled or changed: ${wrong.length === 0 ? 'none' : wrong.join('; ')}`,
    `${verified.events} events: chain and signatures in order; ${verified.results.toTheBit} results computed again, equal to the bit`,
  ];
}
