/** Copies a log in the background while a bay works. Whatever the server does, the bay neither waits nor stops for it. */
import { NumberedError, numberedError } from '../errors/errors';
import { openLedgerForReading, type LedgerReader } from '../ledger/ledger';
import { copyLog } from './copy';
import { openServer } from './server';

export interface Following {
  /** How the copy stood last. */
  readonly state: FollowState;
  /** Ends it, giving what is still to be copied no longer than `graceMs`; the rest is copied the next time. */
  stop(graceMs: number): Promise<FollowState>;
}

export type FollowState =
  | { readonly is: 'begun' }
  | { readonly is: 'copied'; readonly sequence: number }
  /** The server is away; it is tried again. */
  | { readonly is: 'waiting'; readonly error: NumberedError }
  /** It makes no sense to try again: the copy differs, or the server refuses. */
  | { readonly is: 'given up'; readonly error: NumberedError };

const LOOK_MS = 2000;
const AWAY_MS = 5000;
const AWAY_MS_MAX = 60_000;
/** Numbers of errors that pass by themselves. */
const PASSING = new Set([282]);

export interface FollowOptions {
  /** Hears of every other state. */
  readonly changed?: (state: FollowState) => void;
  /** From one look at the log to the next. */
  readonly lookMs?: number;
  /** From a failure to the next try; twice as long after each, up to a minute. */
  readonly awayMs?: number;
}

/** Begins at once. Errors of log and server end in its state and never come out of it. Throws 281. */
export function followLog(
  path: string,
  url: string,
  { changed = () => {}, lookMs = LOOK_MS, awayMs: firstAwayMs = AWAY_MS }: FollowOptions = {},
): Following {
  const server = openServer(url);
  const stopping = new AbortController();
  let state: FollowState = { is: 'begun' };
  let wake = () => {};
  const set = (next: FollowState) => {
    const isNews = next.is !== state.is;
    state = next;
    if (isNews) changed(state);
  };
  const rest = (ms: number) =>
    new Promise<void>((resolve) => {
      const timer = setTimeout(resolve, ms);
      timer.unref();
      wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  const follow = async () => {
    let awayMs = firstAwayMs;
    let log: LedgerReader | undefined;
    try {
      while (state.is !== 'given up') {
        const last = stopping.signal.aborted;
        try {
          log ??= openLedgerForReading(path);
          set({ is: 'copied', sequence: (await copyLog(server, log)).sequence });
          awayMs = firstAwayMs;
        } catch (thrown) {
          const error =
            thrown instanceof NumberedError
              ? thrown
              : numberedError('fault in the tool', String(thrown), thrown);
          set({ is: PASSING.has(error.number) ? 'waiting' : 'given up', error });
          awayMs = Math.min(2 * awayMs, AWAY_MS_MAX);
        }
        // One more look after the bay has stopped writing, and no more.
        if (last) return;
        if (!stopping.signal.aborted) await rest(state.is === 'copied' ? lookMs : awayMs);
      }
    } finally {
      log?.close();
    }
  };
  const done = follow();
  return {
    get state() {
      return state;
    },
    async stop(graceMs) {
      stopping.abort();
      wake();
      await Promise.race([done, pause(graceMs)]);
      server.abandon();
      await Promise.race([server.close().catch(() => {}), pause(100)]);
      return state;
    },
  };
}

function pause(ms: number): Promise<void> {
  return new Promise((resolve) => void setTimeout(resolve, ms));
}
