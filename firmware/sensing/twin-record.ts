/**
 * A record that is replaced as a whole and survives power loss at any byte: of two places the older is overwritten, and
 * the newer valid one counts.
 */
import { readRecord, recordNumber, writeRecord } from './record';
import type { Checksum, Memory } from './record';

export interface TwinRecord {
  /** How often it was written; 0: never. */
  version(): number;
  /** Stores `content` as the next version. False when the memory failed: the old content still counts. */
  replace(content: readonly number[]): boolean;
}

export interface OpenedTwin {
  readonly twin: TwinRecord;
  /** Undefined when it was never written. The twin does not keep it. */
  readonly content: readonly number[] | undefined;
}

/** Opens the twin whose places lie at `address` and `address + placeBytes`; undefined when the memory is unreachable. */
export function openTwinRecord(
  memory: Memory,
  address: number,
  placeBytes: number,
  checksum: Checksum,
): OpenedTwin | undefined {
  const places = [address, address + placeBytes];
  const first = recordNumber(memory, places[0]);
  const second = recordNumber(memory, places[1]);
  if (first === undefined || second === undefined) return undefined;

  let version = 0;
  let content: readonly number[] | undefined = undefined;
  let newest = 1;
  // The place with the lower number is read only when the other's record is none.
  for (const i of first > second ? [0, 1] : [1, 0]) {
    const found = readRecord(memory, places[i], checksum);
    if (found.kind === 'unreachable') return undefined;
    if (found.kind === 'record' && found.number > 0) {
      version = found.number;
      content = found.content;
      newest = i;
      break;
    }
  }

  return {
    content,
    twin: {
      version: () => version,
      replace: (next) => {
        if (!writeRecord(memory, places[1 - newest], checksum, version + 1, next)) return false;
        newest = 1 - newest;
        version += 1;
        return true;
      },
    },
  };
}
