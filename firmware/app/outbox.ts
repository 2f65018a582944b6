/**
 * What waits to be sent: replies and notices in order, and the captures of the journal that are to be announced. A
 * capture's frame lies in the journal as it goes over the wire, so only its number waits here.
 */
import { encodeFrame } from '../../protocol/wire';
import type { Message } from '../../protocol/wire';
import type { ByteStream } from '../ports/ports';
import type { Journal } from '../sensing/journal';

/** More than a host may have open at once; what a host that does not read leaves unread is dropped. */
const FRAMES_MAX = 16;

export interface Outbox {
  /** Queues a message. Returns its frame. */
  send(message: Message): readonly number[];
  sendFrame(frame: readonly number[]): void;
  /** Sends a message now or never: for what is stale a moment later. */
  sendFresh(message: Message): void;
  /** Announces every kept capture from `number` on. */
  announceFrom(number: number): void;
  /** Hands what waits to the stream, as much as it takes, but only one capture. */
  flush(journal: Journal | undefined): void;
}

/** What must arrive begins with a delimiter of its own: noise in the pause before it then hurts nothing but itself. */
function afterNoise(frame: readonly number[]): number[] {
  return [0, ...frame];
}

export function createOutbox(stream: ByteStream): Outbox {
  const frames: (readonly number[])[] = [];
  let announceNext: number | undefined = undefined;

  function sendFrame(frame: readonly number[]): void {
    if (frames.length < FRAMES_MAX) frames.push(frame);
  }

  return {
    send: (message) => {
      const frame = encodeFrame(message);
      sendFrame(frame);
      return frame;
    },
    sendFrame: (frame) => sendFrame(frame),
    sendFresh: (message) => {
      if (frames.length === 0) stream.write(encodeFrame(message));
    },
    announceFrom: (number) => {
      if (announceNext === undefined || number < announceNext) announceNext = number;
    },
    flush: (journal) => {
      while (frames.length > 0) {
        if (!stream.write(afterNoise(frames[0]))) return;
        frames.shift();
      }
      // One at a time: reading a full journal takes longer than samples and the watchdog wait.
      if (announceNext !== undefined && journal !== undefined) {
        const number: number | undefined = journal.firstFrom(announceNext);
        const frame = number === undefined ? undefined : journal.contentOf(number);
        if (number === undefined || frame === undefined) {
          announceNext = undefined;
        } else {
          if (!stream.write(afterNoise(frame))) return;
          announceNext = number + 1;
        }
      }
    },
  };
}
