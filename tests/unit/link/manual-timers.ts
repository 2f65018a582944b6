import type { Timers } from '../../../host/link/timers';

/** Time that stands still until a test moves it. */
export interface ManualTimers extends Timers {
  /** Lets `ms` pass, running what falls due in order and letting streams and promises finish in between. */
  advance(ms: number): Promise<void>;
  /** Timers that still wait. */
  pending(): number;
}

interface Due {
  readonly atMs: number;
  readonly then: () => void;
}

export function createManualTimers(): ManualTimers {
  let nowMs = 0;
  const due = new Set<Due>();

  const nextBefore = (endMs: number) =>
    [...due]
      .filter((d) => d.atMs <= endMs)
      .reduce<Due | undefined>((a, b) => (a && a.atMs <= b.atMs ? a : b), undefined);

  return {
    nowMs: () => nowMs,
    after: (delayMs, then) => {
      const entry = { atMs: nowMs + delayMs, then };
      due.add(entry);
      return () => due.delete(entry);
    },
    advance: async (ms) => {
      const endMs = nowMs + ms;
      for (;;) {
        await quiet();
        const next = nextBefore(endMs);
        if (next === undefined) break;
        due.delete(next);
        nowMs = next.atMs;
        next.then();
      }
      nowMs = endMs;
    },
    pending: () => due.size,
  };
}

/** Streams hand on over a few turns of the event loop; six are more than any chain here needs. */
async function quiet(): Promise<void> {
  for (let turn = 0; turn < 6; turn += 1) await new Promise((resolve) => setImmediate(resolve));
}
