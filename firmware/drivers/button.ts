/** The button: debounced, told apart by how long it was held. */
import type { Pins } from '../ports/ports';

const DEBOUNCE_MS = 20;
const LONG_MS = 1000;

export interface Press {
  readonly kind: 'short' | 'long';
  readonly heldMs: number;
}

export interface Button {
  /** To be called every few milliseconds with the uptime; returns a press once, when the button is let go. */
  poll(uptimeMs: number): Press | undefined;
}

export function createButton(pins: Pins): Button {
  let down = false;
  let changedMs = 0;
  let bouncingSinceMs: number | undefined = undefined;

  return {
    poll: (uptimeMs) => {
      if (pins.buttonDown() === down) {
        bouncingSinceMs = undefined;
        return undefined;
      }
      if (bouncingSinceMs === undefined) bouncingSinceMs = uptimeMs;
      if (uptimeMs - bouncingSinceMs < DEBOUNCE_MS) return undefined;

      down = !down;
      const heldMs = bouncingSinceMs - changedMs;
      changedMs = bouncingSinceMs;
      bouncingSinceMs = undefined;
      if (down) return undefined;
      return { kind: heldMs < LONG_MS ? 'short' : 'long', heldMs };
    },
  };
}
