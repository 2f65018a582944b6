/** The wire barrel for the parity suite, and what drives its exports that are not plain. Two-runtime code. */
import type { Received } from '../../../protocol/wire/index';
import { createFrameReader } from '../../../protocol/wire/index';

export * as barrel from '../../../protocol/wire/index';
export { flood } from '../../unit/wire/flood';

/** What a fresh reader makes of bytes that come in pieces. */
export function readPieces(pieces: readonly number[][]): Received[] {
  const reader = createFrameReader();
  const received: Received[] = [];
  for (const piece of pieces) for (const item of reader.push(piece)) received.push(item);
  return received;
}
