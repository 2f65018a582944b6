import type { Seat } from './beam';
import type { BladeEnd } from './blade';
import type { Plane } from './plane';

/** Where the fixture is. */
export type Hold =
  | { readonly where: 'hand' }
  | ({ readonly where: 'master'; readonly edgeMm: number } & Seat)
  | ({
      readonly where: 'blade';
      /** Index of the spindle in the profile. */
      readonly spindle: number;
      readonly end: BladeEnd;
      /** True heading of that end. */
      readonly headingDeg: number;
      /** How much nearer to the hub than the tip the fixture sits. */
      readonly alongMm: number;
    } & Seat);

/** All that a scene depends on while nothing moves. */
export interface Stage {
  readonly hold: Hold;
  /** The deck's cutting plane above the chassis plane. */
  readonly deck: Plane;
  readonly head: 0 | 1;
}

/** What somebody is doing, from one stage to the next. */
export interface Motion {
  /** carry: the fixture is in a hand on its way; move: something under it moves; touch: a finger on the button. */
  readonly kind: 'carry' | 'move' | 'touch';
  readonly startUs: number;
  readonly endUs: number;
  readonly from: Stage;
  readonly to: Stage;
  /** The deck on the way, where that is more than a straight change; share of the way from 0 to 1. */
  readonly deckAt: ((share: number) => Plane) | undefined;
  /** Phases of the tremor, rad. */
  readonly phases: readonly [number, number];
}

/** After a motion the deck rings, dying away with this time constant, and is still after `RINGING_US`. */
export const RINGING_TAU_US = 250_000;
export const RINGING_US = 2_500_000;

/** The course of events: what is and what moves, over simulated time. */
export interface Timeline {
  /** The stage after everything that has been begun. */
  readonly last: Stage;
  /** Time up to which the world has been looked at or is busy. */
  readonly elapsedUs: number;
  /** Begins a motion as soon as the one before has ended; returns its duration in ms. */
  begin(kind: Motion['kind'], durationMs: number, change: Partial<Stage>, deckAt?: Motion['deckAt']): number;
  /** The latest motion that can be felt at this time, if any; times never run backwards. */
  motionAt(timeUs: number): Motion | undefined;
}

export function createTimeline(first: Stage, phase: () => number): Timeline {
  let last = first;
  let motions: Motion[] = [];
  let seenUs = 0;
  let busyUntilUs = 0;
  return {
    get last() {
      return last;
    },
    get elapsedUs() {
      return Math.max(seenUs, busyUntilUs);
    },
    begin(kind, durationMs, change, deckAt) {
      const startUs = Math.max(seenUs, busyUntilUs);
      const to = { ...last, ...change };
      busyUntilUs = startUs + durationMs * 1000;
      // Nobody looks at what ended before the world was last looked at, nor at more than a few acts ahead.
      motions = motions.filter((motion) => motion.endUs + RINGING_US > seenUs).slice(-100);
      motions.push({
        kind,
        startUs,
        endUs: busyUntilUs,
        from: last,
        to,
        deckAt,
        phases: [phase(), phase()],
      });
      last = to;
      return durationMs;
    },
    motionAt(timeUs) {
      seenUs = Math.max(seenUs, timeUs);
      for (let i = motions.length - 1; i >= 0; i--) {
        const motion = motions[i];
        if (motion.startUs > seenUs) continue;
        return motion.endUs + RINGING_US > seenUs ? motion : undefined;
      }
      return undefined;
    },
  };
}
