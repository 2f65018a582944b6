import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { numberedError } from '../errors/errors';
import { visible } from '../errors/visible';

/** For people: names of other shops' jobs and files stand in it, which no terminal shall obey. */
export function print(...lines: string[]): void {
  process.stdout.write(`${visible(lines.join('\n'))}\n`);
}

export function printJson(value: unknown): void {
  process.stdout.write(`${JSON.stringify(value, undefined, 2)}\n`);
}

/** Makes a folder and those above it. Errors: 404. */
export function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (cause) {
    throw numberedError('file not writable', folder, cause);
  }
}

/** Writes a file and the folders above it. Errors: 404. */
export function writeOut(file: string, content: Uint8Array): void {
  makeFolder(dirname(file));
  try {
    writeFileSync(file, content);
  } catch (cause) {
    throw numberedError('file not writable', file, cause);
  }
}

/** Reads a text file. Errors: 405. */
export function readIn(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (cause) {
    throw numberedError('file not found', file, cause);
  }
}
