/**
 * A job or a session as work at a desk: tried until it is done or left, whatever goes wrong on the way. What mends itself
 * is tried again after a while, for the rest a person says when.
 */
import { NumberedError, numberedError } from '../errors/errors';
import type { ErrorPart } from '../views/bay-screen';
import type { Asking } from './asking';

export interface Work {
  /** What it cannot go on for. */
  trouble(): ErrorPart | undefined;
  /** It may be tried again. */
  goOn(): void;
  /** Ends it wherever it waits for a person, and resolves when nothing of it is under way; what is in the log stays. */
  leave(): Promise<void>;
}

/** What a person is waited for, or a rejection as soon as the work is left. */
export type UnlessLeft = <T>(waited: Promise<T>) => Promise<T>;

/** Begins work at a desk, after the work before it. Throws 511 while a job is in hand or a session open. */
export type BeginWork = (attempt: WorkOptions['attempt'], ended: () => void) => Work;

export interface WorkOptions {
  /** Once through it; what it rejects with is the trouble. */
  readonly attempt: (unlessLeft: UnlessLeft) => Promise<void>;
  /** It waits for this: the work before it has to let go of the fixture. */
  readonly after: Promise<void> | undefined;
  /** Its questions are withdrawn when an attempt ends. */
  readonly asking: Asking;
  /** Another trouble, or none any more. */
  readonly changed: () => void;
  readonly ended: () => void;
}

/** Waits between two tries to find a fixture that is not there. */
const RETRY_MS = 1000;
/** What may mend itself: a port that is not there, in use, or silent, and a cable that was pulled. */
const MENDS_ITSELF = [201, 202, 205, 206, 207, 208, 216];

export function beginWork({ attempt, after, asking, changed, ended }: WorkOptions): Work {
  const leaving = new AbortController();
  const left = new Promise<never>((_, reject) => {
    leaving.signal.addEventListener('abort', () => reject(new Error('the work was left')));
  });
  left.catch(() => {});
  let trouble: ErrorPart | undefined;
  let goOn = () => {};

  const untilDone = async () => {
    await after;
    while (!leaving.signal.aborted) {
      try {
        return await attempt((waited) => Promise.race([waited, left])).finally(() => asking.clear());
      } catch (error) {
        if (leaving.signal.aborted) return;
        const met = troubleOf(error);
        trouble = met;
        changed();
        await new Promise<void>((resolve) => {
          goOn = resolve;
          if (met.retried) setTimeout(resolve, RETRY_MS);
        });
        trouble = undefined;
        changed();
      }
    }
  };
  const over = untilDone().then(ended);
  return {
    trouble: () => trouble,
    goOn: () => goOn(),
    leave: async () => {
      leaving.abort();
      goOn();
      await over;
    },
  };
}

function troubleOf(error: unknown): ErrorPart {
  const said =
    error instanceof NumberedError
      ? error
      : numberedError('fault in the tool', error instanceof Error ? error.message : String(error), error);
  const { number, entry, about, nextStep } = said;
  return { number, cause: entry.cause, about, nextStep, retried: MENDS_ITSELF.includes(number) };
}
