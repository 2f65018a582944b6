import type { Timers } from './timers';

/** Pauses between attempts, each twice the one before, up to a longest one. */
export interface Backoff {
  pause(): Promise<void>;
  /** Ends a pause that is under way. */
  cancel(): void;
  /** Begins again with the shortest pause. */
  restart(): void;
}

export function createBackoff(timers: Timers, msMin: number, msMax: number): Backoff {
  let nextMs = msMin;
  let cancel = () => {};
  return {
    pause: () =>
      new Promise((resolve) => {
        const cancelTimer = timers.after(nextMs, resolve);
        cancel = () => {
          cancelTimer();
          resolve();
        };
        nextMs = Math.min(2 * nextMs, msMax);
      }),
    cancel: () => cancel(),
    restart: () => {
      nextMs = msMin;
    },
  };
}
