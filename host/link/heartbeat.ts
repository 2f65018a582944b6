import type { Timers } from './timers';

/** Something done over and over, with a pause after each time; damage on the line makes the next one come sooner. */
export interface Heartbeat {
  start(): void;
  /** Lets the next beat come soon; asking again before it came changes nothing. */
  hurry(): void;
  stop(): void;
}

export interface HeartbeatOptions {
  readonly timers: Timers;
  readonly everyMs: number;
  readonly hurriedMs: number;
  /** One beat. The pause begins when it is over. */
  readonly beat: () => Promise<void>;
}

export function createHeartbeat({ timers, everyMs, hurriedMs, beat }: HeartbeatOptions): Heartbeat {
  let state: 'stopped' | 'pausing' | 'hurrying' | 'beating' | 'beating, then hurrying' = 'stopped';
  let cancel = () => {};

  const pause = (delayMs: number) => {
    cancel();
    cancel = timers.after(delayMs, () => void run());
  };

  const run = async () => {
    state = 'beating';
    await beat();
    afterBeat();
  };

  const afterBeat = () => {
    if (state === 'stopped') return;
    const hurried = state === 'beating, then hurrying';
    state = hurried ? 'hurrying' : 'pausing';
    pause(hurried ? hurriedMs : everyMs);
  };

  return {
    start: () => {
      state = 'pausing';
      pause(everyMs);
    },
    hurry: () => {
      if (state === 'beating') state = 'beating, then hurrying';
      if (state !== 'pausing') return;
      state = 'hurrying';
      pause(hurriedMs);
    },
    stop: () => {
      state = 'stopped';
      cancel();
    },
  };
}
