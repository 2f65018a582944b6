/** Checks a log or an exported job, and says what it found: exit code 0 in order, 1 changed, 2 cannot tell in part. */
import { closeSync, openSync, readFileSync, readSync } from 'node:fs';
import { numberedError, NumberedError } from '../errors/errors';
import type { SeenHead } from '../ledger/events';
import { looksExported, parseExport } from '../ledger/exported-job';
import { openLedgerForReading } from '../ledger/ledger';
import type { Program } from '../ledger/program';
import { verifyExport, verifyLog, type Verification, type VerifyOptions } from '../ledger/verify';
import { shortForm, SIGNATURE_PROVES, SIGNATURE_PROVES_NOT } from '../views/seal-view';
import { installedSolver } from './installed-solver';
import { print, printJson } from './output';
import { reading } from './with-log';

export interface VerifyCommandOptions {
  readonly log: string;
  readonly job?: readonly number[];
  readonly solve: boolean;
  readonly runItsSolver?: boolean;
  readonly head?: { readonly sequence: number; readonly hash: string };
  readonly key?: string;
  /** Logs of other bays that may have seen heads of this one. */
  readonly witness?: readonly string[];
  readonly json?: boolean;
}

export function verify(file: string | undefined, options: VerifyCommandOptions): Promise<number> {
  const path = file ?? options.log;
  const found = verification(path, options);
  const code = found.faults.length > 0 ? 1 : found.open.length > 0 ? 2 : 0;
  const proves = { proves: SIGNATURE_PROVES, provesNot: SIGNATURE_PROVES_NOT };
  if (options.json === true) printJson({ file: path, ...found, ...proves, exitCode: code });
  else print(...textOf(path, found, code), '', SIGNATURE_PROVES, SIGNATURE_PROVES_NOT);
  return Promise.resolve(code);
}

function verification(path: string, options: VerifyCommandOptions): Verification {
  const installed = installedSolver();
  // A log's own chain vouches for its solvers; code out of a stranger's file is run only when asked.
  const mine = (hash: string) => (hash === installed.sha256 ? installed : undefined);
  const common: Omit<VerifyOptions, 'programOf'> = {
    rejudge: options.solve,
    ...(options.job === undefined ? {} : { jobs: options.job }),
    ...(options.head === undefined ? {} : { head: options.head }),
    ...(options.key === undefined ? {} : { fingerprint: options.key.replace(/\s/g, '') }),
  };
  const content = readStart(path);
  if (looksExported(content.subarray(0, 100).toString('latin1'))) {
    const whole = readFileSync(path);
    const theirs = options.runItsSolver === true ? programsIn(whole) : new Map<string, Program>();
    return verifyExport(whole, path, { ...common, programOf: (hash) => mine(hash) ?? theirs.get(hash) });
  }
  try {
    const log = openLedgerForReading(path);
    try {
      const seen = (options.witness ?? []).flatMap((file) => headsSeen(file, log.writer));
      return verifyLog(log, { ...common, programOf: mine, seen });
    } finally {
      log.close();
    }
  } catch (error) {
    if (!(error instanceof NumberedError) || error.number !== 252) throw error;
    return { ...NOTHING, faults: [error.about] };
  }
}

/** What another bay's log says of a writer. */
function headsSeen(file: string, writer: string): SeenHead[] {
  return reading({ log: file }, (log) =>
    log
      .shopEvents()
      .flatMap((event) => (event.type === 'heads seen' ? event.heads : []))
      .filter((head) => head.writer === writer),
  );
}

function programsIn(content: Uint8Array): Map<string, Program> {
  return new Map(parseExport(content, '').programs.map((program) => [program.sha256, program]));
}

function readStart(path: string): Buffer {
  try {
    const start = Buffer.alloc(100);
    const file = openSync(path, 'r');
    try {
      return start.subarray(0, readSync(file, start, 0, start.length, 0));
    } finally {
      closeSync(file);
    }
  } catch (cause) {
    throw numberedError('file not found', path, cause);
  }
}

/** Of a log that is too damaged to be opened. */
const NOTHING: Verification = {
  what: 'log',
  writer: '',
  events: 0,
  head: { sequence: 0, hash: '' },
  keys: [],
  faults: [],
  open: [],
  notes: [],
  results: { toTheBit: 0, toRounding: 0 },
  captures: { fixtures: 0, captures: 0 },
};

const RESULTS = ['IN ORDER', 'CHANGED OR DAMAGED', 'IN ORDER AS FAR AS THIS FILE CAN TELL'];

function textOf(path: string, found: Verification, code: number): string[] {
  const { what, job, writer, events, head, keys, results, captures } = found;
  const { toTheBit, toRounding } = results;
  return [
    `${path}: ${RESULTS[code] ?? ''}`,
    `  ${what}${job === undefined ? '' : ` ${job}`} of ${writer}: ${events} events, to event ${head.sequence}`,
    `  check number ${head.hash === '' ? '-' : shortForm(head.hash)}   ${head.hash}`,
    ...keys.map(
      (key) => `  key since event ${key.since}: ${shortForm(key.fingerprint)}   ${key.fingerprint}`,
    ),
    `  ${captures.captures} captures of ${captures.fixtures} fixtures; ${toTheBit} results computed again, equal to the bit${toRounding === 0 ? '' : `, ${toRounding} to the rounding of another JavaScript engine`}`,
    ...found.faults.map((fault) => `  WRONG: ${fault}`),
    ...found.open.map((what) => `  cannot tell: ${what}`),
    ...found.notes.map((note) => `  note: ${note}`),
  ];
}
