/** Time since start, from a clock that wraps every 71.6 minutes. */
import type { Clock } from '../ports/ports';

const WRAP_US = 4294967296;

export interface Uptime {
  /** Reads the clock; must be called at least once an hour. Returns microseconds since start, which never wrap. */
  advance(): number;
  us(): number;
  ms(): number;
}

export function createUptime(clock: Clock): Uptime {
  let last = clock.micros();
  let us = 0;
  return {
    advance: () => {
      const now = clock.micros();
      const elapsed = now - last;
      us += elapsed < 0 ? elapsed + WRAP_US : elapsed;
      last = now;
      return us;
    },
    us: () => us,
    ms: () => Math.floor(us / 1000),
  };
}
