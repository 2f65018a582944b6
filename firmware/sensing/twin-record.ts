/**
 * A record that is replaced as a whole and survives power loss at any byte: of two places the older is overwritten, and
 * the newer valid one counts.
 */
import { readRecord, writeRecord } from './record';
import type { Checksum, Memory } from './record';

export interface TwinRecord {
  /** How often it was written; 0: never. */
  version(): number;
  /** Undefined when it was never written. */
  content(): readonly number[] | undefined;
  /** Stores `content` as the next version. False when the memory failed: the old content still counts. */
  replace(content: readonly number[]): boolean;
}

/** Opens the twin whose places lie at `address` and `address + placeBytes`; undefined when the memory is unreachable. */
export function openTwinRecord(
  memory: Memory,
  address: number,
  placeBytes: number,
  checksum: Checksum,
): TwinRecord | undefined {
  const places = [address, address + placeBytes];
  let version = 0;
  let content: readonly number[] | undefined = undefined;
  let newest = 1;
  for (let i = 0; i < 2; i++) {
    const found = readRecord(memory, places[i], checksum);
    if (found.kind === 'unreachable') return undefined;
    if (found.kind === 'record' && found.number > version) {
      version = found.number;
      content = found.content;
      newest = i;
    }
  }

  return {
    version: () => version,
    content: () => content,
    replace: (next) => {
      if (!writeRecord(memory, places[1 - newest], checksum, version + 1, next)) return false;
      newest = 1 - newest;
      version += 1;
      content = next;
      return true;
    },
  };
}
