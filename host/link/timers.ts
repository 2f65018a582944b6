/** Time as the link sees it: an argument, so that tests can run hours of it in a moment. */
export interface Timers {
  /** Milliseconds that never run backwards; only differences mean anything. */
  nowMs(): number;
  /** Runs `then` once after `delayMs`. Returns what calls it off. */
  after(delayMs: number, then: () => void): () => void;
}

/** The computer's own clock. */
export const systemTimers: Timers = {
  nowMs: () => performance.now(),
  after: (delayMs, then) => {
    const timer = setTimeout(then, delayMs);
    return () => clearTimeout(timer);
  },
};

/** How patient the link is. */
export interface Timing {
  /** A request without a reply is sent again, unchanged, after this time. */
  readonly replyMs: number;
  /** How often a request is sent again before it counts as unanswered. */
  readonly resends: number;
  /** How often the fixture's state is asked for: the sign of life. */
  readonly pollMs: number;
  /** First and longest pause between attempts to open a lost port again; each pause is twice the one before. */
  readonly backoffMsMin: number;
  readonly backoffMsMax: number;
  /** Damage on the line is reported at most this often. */
  readonly garbageReportMs: number;
}

export const usualTiming: Timing = {
  replyMs: 500,
  resends: 3,
  pollMs: 2000,
  backoffMsMin: 200,
  backoffMsMax: 2000,
  garbageReportMs: 1000,
};
