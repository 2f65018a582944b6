/** Every byte of an exported job of the demo, one after the other, with one bit changed: each must be found. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { NumberedError } from '../../host/errors/errors';
import { verifyExport } from '../../host/ledger/verify';

export interface Flips {
  readonly bytes: number;
  readonly tried: number;
  readonly byForm: number;
  readonly bySeal: number;
  /** Found by an event's own hash, link or signature, besides the seal. */
  readonly byEvents: number;
  readonly missed: readonly number[];
}

/** `every`: each so-many-th byte. The solver's text, which is one line of base64, is taken in larger steps. */
export function flipBytes(every: number): Flips {
  const bytes = exportedDemo();
  const solverAt = bytes.indexOf('\nprogram ');
  const counts = { tried: 0, byForm: 0, bySeal: 0, byEvents: 0 };
  const missed: number[] = [];
  for (let i = 0; i < bytes.length;) {
    const hurt = Buffer.from(bytes);
    hurt[i] = (hurt[i] ?? 0) ^ (1 << (i % 8));
    const found = faultsOf(hurt);
    counts.tried += 1;
    if (found === 'form') counts.byForm += 1;
    else if (found.length === 0) missed.push(i);
    else if (found.some((what) => what.startsWith('event '))) counts.byEvents += 1;
    else counts.bySeal += 1;
    const inSolver = i > solverAt + 100 && i < bytes.length - 400;
    i += inSolver ? 64 * every : every;
  }
  return { bytes: bytes.length, ...counts, missed };
}

function faultsOf(content: Buffer): readonly string[] | 'form' {
  try {
    return verifyExport(content, 'it', { rejudge: false, programOf: () => undefined }).faults;
  } catch (error) {
    if (error instanceof NumberedError && [253, 261].includes(error.number)) return 'form';
    throw error;
  }
}

function exportedDemo(): Buffer {
  const folder = mkdtempSync(join(tmpdir(), 'swathplane-flips-'));
  const file = join(folder, 'job.swathplane-job');
  const swathplane = (...args: readonly string[]) =>
    execFileSync(process.execPath, ['build/host/swathplane.js', ...args], { stdio: 'ignore' });
  try {
    swathplane('demo', '--machine', 'pimwick-76', '--folder', folder, '--json');
    swathplane('export', '1', '--log', join(folder, 'demo.swathplane-log'), '--to', file);
    return readFileSync(file);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export function flipText({ bytes, tried, byForm, bySeal, byEvents, missed }: Flips): string[] {
  return [
    `an exported job of the demo, ${bytes} bytes; ${tried} of them changed by one bit, one after the other (every byte, of the solver's text every 64th)`,
    `found by the form: ${byForm}; by an event's own hash, link or signature: ${byEvents}; by the seal alone: ${bySeal}; missed: ${missed.length}`,
  ];
}
