/** Bytes of an exported job, one after the other, with one bit changed: each must be found by verifying the file. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { NumberedError } from '../../host/errors/errors';
import { verifyExport } from '../../host/ledger/verify';

export interface Flips {
  readonly tried: number;
  readonly byForm: number;
  /** Found by an event's own hash, link or signature, besides the seal. */
  readonly byEvents: number;
  readonly bySeal: number;
  /** Places of the bytes whose change was not found. */
  readonly missed: readonly number[];
}

/** Which bytes: every so-many-th from the first one on. */
export interface Share {
  readonly first: number;
  readonly every: number;
}

export function flipBytes(bytes: Buffer, { first, every }: Share): Flips {
  const counts = { tried: 0, byForm: 0, byEvents: 0, bySeal: 0 };
  const missed: number[] = [];
  const hurt = Buffer.from(bytes);
  for (let i = first; i < bytes.length; i += every) {
    const byte = bytes[i] ?? 0;
    hurt[i] = byte ^ (1 << (i % 8));
    const found = faultsOf(hurt);
    hurt[i] = byte;
    counts.tried += 1;
    if (found === 'form') counts.byForm += 1;
    else if (found.length === 0) missed.push(i);
    else if (found.some((what) => what.startsWith('event '))) counts.byEvents += 1;
    else counts.bySeal += 1;
  }
  return { ...counts, missed };
}

function faultsOf(content: Buffer): readonly string[] | 'form' {
  try {
    return verifyExport(content, 'it', { rejudge: false, programOf: () => undefined }).faults;
  } catch (error) {
    if (error instanceof NumberedError && [253, 261].includes(error.number)) return 'form';
    throw error;
  }
}

/** A levelling job of the demo, with the solver that decided. */
export function exportedDemo(): Buffer {
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

export function flipText(bytes: number, { tried, byForm, byEvents, bySeal, missed }: Flips): string[] {
  return [
    `an exported job of the demo: ${tried} of its ${bytes} bytes changed by one bit each, one after the other`,
    `found by the file's form: ${byForm}; by an event's own hash, link or signature: ${byEvents}; by the seal alone: ${bySeal}`,
    `missed: ${missed.length === 0 ? 'none' : missed.join(', ')}`,
  ];
}
