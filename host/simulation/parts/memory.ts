/**
 * Memory that keeps its content without power, addressed like the 24 series: two address bytes, then data; the address
 * counts up and wraps. Each byte is stored as it comes.
 */
import type { Slave } from './slave';

export const MEMORY_BYTES = 32768;

export interface MemoryPart extends Slave {
  /** The content, which outlives power. */
  readonly content: Uint8Array;
  /** After so many more stored bytes the power is out: nothing is stored or acknowledged any more. */
  cutAfter(bytes: number): void;
  powerIsOut(): boolean;
  powerOn(): void;
}

/** `beforeStored` is called before each byte that is stored. */
export function createMemoryPart(
  content: Uint8Array,
  beforeStored: () => void = () => undefined,
): MemoryPart {
  if (content.length !== MEMORY_BYTES)
    throw new Error(`the memory has ${MEMORY_BYTES} bytes, not ${content.length}`);
  let pointer = 0;
  let addressBytes = 0;
  let left = Infinity;

  return {
    address: 0x50,
    content,
    cutAfter: (bytes) => {
      left = bytes;
    },
    powerIsOut: () => left <= 0,
    powerOn: () => {
      left = Infinity;
      pointer = 0;
    },
    start: (read) => {
      addressBytes = read ? 2 : 0;
    },
    write: (byte) => {
      if (addressBytes < 2) {
        pointer = addressBytes === 0 ? (byte * 256) % MEMORY_BYTES : (pointer + byte) % MEMORY_BYTES;
        addressBytes += 1;
        return left > 0;
      }
      if (left <= 0) return false;
      left -= 1;
      beforeStored();
      content[pointer] = byte;
      pointer = (pointer + 1) % MEMORY_BYTES;
      return true;
    },
    read: () => {
      const byte = content[pointer];
      pointer = (pointer + 1) % MEMORY_BYTES;
      return byte;
    },
    stop: () => undefined,
  };
}
