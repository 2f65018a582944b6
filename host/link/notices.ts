import type { Body } from '../../protocol/wire/messages';
import type { NumberedError } from '../errors/errors';
import type { Identity } from './handshake';
import type { Kept } from './intake';

/** What a link tells without being asked. */
export interface Notices {
  /** What the armed fixture sees now. */
  live: Body<'live'>;
  /** A capture that is safe: kept just now, or a copy of one that was kept before. */
  captured: { readonly capture: Body<'captured'>; readonly kept: Kept };
  happened: Body<'happened'>;
  /** A fault that no request caused: of the fixture, of keeping a capture, or of what stands in the way of reconnecting. */
  error: NumberedError;
  /** The connection is gone (E206); the link tries to get it back until it is closed. */
  lost: NumberedError;
  /** The fixture is there again, and what it had captured meanwhile has arrived. `restarted` (E210): it is no longer armed. */
  back: { readonly identity: Identity; readonly restarted: NumberedError | undefined };
  /** Bytes arrived that are no frames (E209): how many since the last such notice. */
  garbage: { readonly bytes: number; readonly error: NumberedError };
  /** Numbers missing in the fixture's row of captures although it holds none back: other hands fetched those captures. */
  missing: { readonly captures: readonly number[] };
}

export type Listeners = { readonly [N in keyof Notices]?: (notice: Notices[N]) => void };

export interface NoticeBoard {
  /** Adds a listener. Returns what takes it away. */
  readonly on: <N extends keyof Notices>(name: N, listener: (notice: Notices[N]) => void) => () => void;
  readonly tell: <N extends keyof Notices>(name: N, notice: Notices[N]) => void;
}

export function createNoticeBoard(first: Listeners = {}): NoticeBoard {
  const everyone: Listeners[] = [first];
  return {
    on: (name, listener) => {
      const entry: Listeners = { [name]: listener };
      everyone.push(entry);
      return () => {
        const place = everyone.indexOf(entry);
        if (place >= 0) everyone.splice(place, 1);
      };
    },
    tell: (name, notice) => {
      for (const listeners of [...everyone]) listeners[name]?.(notice);
    },
  };
}
