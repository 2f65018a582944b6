import type { Timers } from './timers';

/** Counts damaged bytes and reports the first at once, the rest summed up at most once in `everyMs`. */
export interface DamageReport {
  add(bytes: number): void;
  stop(): void;
}

export function createDamageReport(
  timers: Timers,
  everyMs: number,
  report: (bytes: number) => void,
): DamageReport {
  let unreported = 0;
  let cancel: (() => void) | undefined;

  const reportNow = () => {
    cancel = undefined;
    if (unreported === 0) return;
    const bytes = unreported;
    unreported = 0;
    cancel = timers.after(everyMs, reportNow);
    report(bytes);
  };

  return {
    add: (bytes) => {
      unreported += bytes;
      if (cancel === undefined) reportNow();
    },
    stop: () => cancel?.(),
  };
}
