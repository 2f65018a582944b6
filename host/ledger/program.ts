/** The program that decides a job: kept by its hash with the record, and run again to see that it decides the same. */
import { createContext, runInContext } from 'node:vm';
import { sha256 } from './chain';
import type { JobEvent } from './events';

export interface Program {
  readonly sha256: string;
  readonly text: string;
}

export function programOf(text: string): Program {
  return { sha256: sha256(text), text };
}

/** What runs programs here: results are equal to the bit on the same engine; others may differ in the last bit of a sine. */
export function engineName(): string {
  return `node ${process.versions.node}, v8 ${process.versions.v8}`;
}

/** From a job's events to the result that comes next; null when none does. */
export type Rejudge = (events: readonly JobEvent[]) => unknown;

/**
 * Loads a program. It gets texts and gives texts and is handed nothing else; that keeps an honest program pure, but it is no
 * wall against a hostile one: run only what this log's own chain or this installation vouches for.
 */
export function load({ text }: Program): Rejudge {
  const context = createContext(Object.create(null) as object);
  runInContext(text, context, { timeout: RUN_MS_MAX });
  return (events) => {
    Object.defineProperty(context, 'given', { value: JSON.stringify(events), configurable: true });
    return JSON.parse(
      String(runInContext('solver.rejudge(given)', context, { timeout: RUN_MS_MAX })),
    ) as unknown;
  };
}

/** A result takes tenths of a second. */
const RUN_MS_MAX = 60_000;
