/** What is pushed to the screens (server-sent events, HTML standard section 9.2): the whole view at first, then what changes. */
import type { Context } from 'hono';
import { streamSSE } from 'hono/streaming';
import type { Desk } from '../desk/desk';
import { numberedError } from '../errors/errors';
import type { BayScreen, LivePart } from '../views/bay-screen';
import { peerOf } from './guard';

export interface LiveStream {
  /** Throws 513. */
  open(c: Context): Response;
  /** Throws 513 where one more from this address would be too many. */
  admit(address: string): void;
  /** Ends all streams. */
  close(): void;
}

/** A sign of life, so that a screen knows within three seconds that the server is gone. */
const BEAT_MS = 1000;
/** Far more screens than a bay has; each costs the computer of the bay something with every height. */
const MOST_STREAMS = 48;
const MOST_OF_ONE_ADDRESS = 12;
const PARTS = [
  'bay',
  'job',
  'session',
  'machine',
  'results',
  'pictures',
] as const satisfies readonly (keyof BayScreen)[];

export function liveStream(desk: Desk): LiveStream {
  /** What ends each stream, with the address that it goes to. */
  const ends = new Map<() => void, string>();
  const admit = (address: string) => {
    const ofThisAddress = [...ends.values()].filter((a) => a === address).length;
    if (ofThisAddress >= MOST_OF_ONE_ADDRESS)
      throw numberedError('too many screens', `${ofThisAddress} on one computer`);
    if (ends.size >= MOST_STREAMS) throw numberedError('too many screens', `${ends.size} at this bay`);
  };
  return {
    admit,
    open: (c) => {
      const address = peerOf(c);
      admit(address);
      return streamSSE(c, async (stream) => {
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
        ends.set(end, address);
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
      });
    },
    close: () => [...ends.keys()].forEach((end) => end()),
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
