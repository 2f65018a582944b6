/** Floods a frame reader with random bytes. Two-runtime code: the same flood runs as JavaScript and as Lua. */
import type { Message, Received } from '../../../protocol/wire/index';
import { createFrameReader, encodeFrame } from '../../../protocol/wire/index';

export interface FloodResult {
  /** Good frames put into the flood, each right after a delimiter. */
  sent: number;
  /** Those of them that came out, in order and unchanged. */
  accepted: number;
  /** Frames, known or unknown, that came out and were not sent. */
  invented: number;
  /** Bytes of noise that were not 0, and bytes reported as damaged: equal, when nothing is lost sight of. */
  noise: number;
  damaged: number;
}

/**
 * `count` random bytes, cut into pieces of 1 to 600. After a piece, with probability `frameShare` / 100, a delimiter
 * and a good frame follow, and at the very end always.
 */
export function flood(seed: number, count: number, frameShare: number): FloodResult {
  const reader = createFrameReader();
  const result: FloodResult = { sent: 0, accepted: 0, invented: 0, noise: 0, damaged: 0 };
  let state = seed;
  // Minimal standard generator (Park and Miller, 1988): its products are exact in doubles and in 64-bit integers.
  const below = (limit: number) => {
    state = (state * 16807) % 2147483647;
    return Math.floor((state / 2147483647) * limit);
  };

  const take = (received: readonly Received[]) => {
    for (const item of received) {
      if (item.kind === 'damaged') result.damaged += item.bytes;
      else if (item.kind === 'message' && sameAsSent(item.message, result.accepted)) result.accepted++;
      else result.invented++;
    }
  };

  let left = count;
  while (left > 0) {
    const piece: number[] = [];
    const length = Math.min(left, 1 + below(600));
    for (let i = 0; i < length; i++) {
      const byte = below(256);
      if (byte !== 0) result.noise++;
      piece.push(byte);
    }
    take(reader.push(piece));
    left -= length;
    if (left === 0 || below(100) < frameShare) {
      take(reader.push([0]));
      take(reader.push(encodeFrame(nthMessage(result.sent))));
      result.sent++;
    }
  }
  return result;
}

function nthMessage(n: number): Message {
  return { name: 'acknowledge', sequence: n & 255, body: { capture: n } };
}

function sameAsSent(message: Message, n: number): boolean {
  return message.name === 'acknowledge' && message.sequence === (n & 255) && message.body.capture === n;
}
