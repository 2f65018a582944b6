/** What is pushed to the screens (server-sent events, HTML standard section 9.2): the whole view at first, then what changes. */
import type { Context } from 'hono';
import { streamSSE } from 'hono/streaming';
import type { Desk } from '../desk/desk';
import type { BayScreen, LivePart } from '../views/bay-screen';

export interface LiveStream {
  open(c: Context): Response;
  /** Ends all streams. */
  close(): void;
}

/** A sign of life, so that a screen knows within three seconds that the server is gone. */
const BEAT_MS = 1000;
const PARTS = [
  'bay',
  'job',
  'session',
  'machine',
  'results',
  'pictures',
] as const satisfies readonly (keyof BayScreen)[];

export function liveStream(desk: Desk): LiveStream {
  const ends = new Set<() => void>();
  return {
    open: (c) =>
      streamSSE(c, async (stream) => {
        const sent = new Map<string, string>();
        let live: LivePart | undefined;
        let isDue = true;
        let wake = () => {};
        let isOver = false;
        const end = () => {
          isOver = true;
          wake();
        };
        const unwatch = desk.watch({
          changed: () => {
            isDue = true;
            wake();
          },
          live: (part) => {
            live = part;
            wake();
          },
        });
        const beat = setInterval(() => wake(), BEAT_MS);
        ends.add(end);
        stream.onAbort(end);
        try {
          while (!isOver) {
            const newest = live;
            live = undefined;
            if (isDue) {
              isDue = false;
              const changed = changedParts(desk.screen(), sent);
              if (changed !== undefined) await stream.writeSSE({ event: 'view', data: changed });
            }
            // A slow screen skips heights that are past: only the newest is ever sent.
            if (newest !== undefined) await stream.writeSSE({ event: 'live', data: JSON.stringify(newest) });
            else await stream.writeSSE({ event: 'beat', data: '' });
            if (!isDue && live === undefined && !isOver)
              await new Promise<void>((resolve) => (wake = resolve));
          }
        } finally {
          clearInterval(beat);
          unwatch();
          ends.delete(end);
        }
      }),
    close: () => ends.forEach((end) => end()),
  };
}

/** The parts that this screen has not got yet, as JSON; undefined when it has all. */
function changedParts(screen: BayScreen, sent: Map<string, string>): string | undefined {
  const changed = PARTS.flatMap((name) => {
    const text = JSON.stringify(screen[name]);
    if (sent.get(name) === text) return [];
    sent.set(name, text);
    return `"${name}":${text}`;
  });
  return changed.length === 0 ? undefined : `{${changed.join()}}`;
}
