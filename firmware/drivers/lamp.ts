/** The lamp: each pattern is a colour and a rhythm together, so that colour is never the only sign. */
import type { Pins } from '../ports/ports';

export interface Lamp {
  /** Starts the lamp pattern of this number (table of lamp patterns) from its beginning, unless it runs already. */
  show(pattern: number): void;
  /** To be called every few milliseconds with the uptime. */
  poll(uptimeMs: number): void;
}

interface Pattern {
  readonly red: number;
  readonly green: number;
  readonly blue: number;
  /** On, off, on, off, ... then from the beginning; empty: steady. */
  readonly rhythmMs: readonly number[];
}

/** In the order of the table of lamp patterns. */
const PATTERNS: readonly Pattern[] = [
  { red: 0, green: 0, blue: 0, rhythmMs: [] },
  { red: 255, green: 120, blue: 0, rhythmMs: [800, 800] },
  { red: 0, green: 255, blue: 0, rhythmMs: [] },
  { red: 0, green: 255, blue: 0, rhythmMs: [120, 120, 120, 120, 120, 400] },
  { red: 0, green: 0, blue: 255, rhythmMs: [150, 150, 150, 750] },
  { red: 255, green: 0, blue: 0, rhythmMs: [125, 125] },
];

export function createLamp(pins: Pins): Lamp {
  let shown = 0;
  let lit: boolean | undefined = undefined;
  let startedMs: number | undefined = undefined;

  return {
    show: (pattern) => {
      if (pattern === shown) return;
      shown = pattern;
      lit = undefined;
      startedMs = undefined;
    },
    poll: (uptimeMs) => {
      const pattern = PATTERNS[shown];
      if (startedMs === undefined) startedMs = uptimeMs;
      const on = isOn(pattern.rhythmMs, uptimeMs - startedMs);
      if (on === lit) return;
      lit = on;
      if (on) pins.setLamp(pattern.red, pattern.green, pattern.blue);
      else pins.setLamp(0, 0, 0);
    },
  };
}

function isOn(rhythmMs: readonly number[], sinceMs: number): boolean {
  if (rhythmMs.length === 0) return true;
  let periodMs = 0;
  for (const partMs of rhythmMs) periodMs += partMs;
  let restMs = sinceMs - Math.floor(sinceMs / periodMs) * periodMs;
  for (let i = 0; i < rhythmMs.length; i++) {
    restMs -= rhythmMs[i];
    if (restMs < 0) return i - Math.floor(i / 2) * 2 === 0;
  }
  return false;
}
