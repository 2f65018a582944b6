/** Decides a job once more from its events with the solver that the record keeps, and compares with what was written down. */
import { canonicalJson } from './canonical';
import type { JobEvent } from './events';
import { engineName, load, type Program, type Rejudge } from './program';

export interface Rejudged {
  /** Results that came out again: to the bit, and on another engine to its rounding. */
  readonly toTheBit: number;
  readonly toRounding: number;
  /** Results that came out otherwise. */
  readonly otherwise: readonly string[];
  /** Results that could not be computed again, and why. */
  readonly notTried: readonly string[];
}

/**
 * Different engines may differ in the last bit of a sine (ECMA-262 leaves it to them), which a solution passes on: so far
 * apart two numbers of one result may be there, relative to their size or to one millimetre.
 */
const ROUNDING = 1e-9;

/**
 * `programOf` gives the text of a solver by its hash, undefined where it is not there or is not to be run.
 */
export function rejudgeJob(
  events: readonly JobEvent[],
  programOf: (sha256: string) => Program | undefined,
): Rejudged {
  const counts = { toTheBit: 0, toRounding: 0 };
  const otherwise: string[] = [];
  const notTried: string[] = [];
  let known: Extract<JobEvent, { type: 'solver known' }> | undefined;
  for (const [i, event] of events.entries()) {
    if (event.type === 'solver known') known = event;
    if (event.type !== 'assessed') continue;
    const which = `job ${event.job}, ${event.stage}`;
    const program = known === undefined ? undefined : programOf(known.sha256);
    if (known === undefined || program === undefined) {
      notTried.push(
        `${which}: ${known === undefined ? 'no solver on record' : `solver ${known.sha256.slice(0, 12)}… not run`}`,
      );
      continue;
    }
    const again = outcome(rejudgeWith(program), events.slice(0, i));
    const isSameEngine = known.engine === engineName();
    if (again === canonicalJson(event)) counts.toTheBit += 1;
    else if (!isSameEngine && isAlike(JSON.parse(again), event)) counts.toRounding += 1;
    else otherwise.push(`${which}: written down as ${canonicalJson(event)}, computed again ${again}`);
  }
  return { ...counts, otherwise, notTried };
}

const loaded = new Map<string, Rejudge>();

function rejudgeWith(program: Program): Rejudge {
  const rejudge = loaded.get(program.sha256) ?? load(program);
  loaded.set(program.sha256, rejudge);
  return rejudge;
}

function outcome(rejudge: Rejudge, events: readonly JobEvent[]): string {
  try {
    return canonicalJson(rejudge(events));
  } catch (error) {
    return JSON.stringify(error instanceof Error ? error.message : 'failed');
  }
}

/** Equal but for the rounding of numbers that are no whole numbers. */
function isAlike(a: unknown, b: unknown): boolean {
  if (typeof a === 'number' && typeof b === 'number')
    return a === b || Math.abs(a - b) <= ROUNDING * Math.max(1, Math.abs(a), Math.abs(b));
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return a === b;
  const [one, other] = [a as Record<string, unknown>, b as Record<string, unknown>];
  const keys = Object.keys(one);
  return (
    keys.length === Object.keys(other).filter((k) => other[k] !== undefined).length &&
    keys.every((key) => isAlike(one[key], other[key]))
  );
}
