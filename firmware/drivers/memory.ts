/**
 * The memory that keeps its content without power (FRAM with the addressing of the 24 series: two address bytes, high
 * byte first, then data; the address counts up by itself). A byte is stored the moment it is sent.
 *
 * Register facts: public data sheets of the class, from memory.
 */
import type { Bus } from '../ports/ports';

export const MEMORY_ADDRESS = 0x50;
export const MEMORY_BYTES = 32768;

/** One transaction of this length takes about 1.5 ms at 400 kHz, well within a sample's period. */
const PIECE_BYTES = 64;

export interface MemoryPart {
  /** `count` bytes from `address`; undefined when the part does not answer. */
  read(address: number, count: number): number[] | undefined;
  /** Stores `bytes` in order. False when the part stopped answering: then any first part of them may be stored. */
  write(address: number, bytes: readonly number[]): boolean;
}

export function createMemoryPart(bus: Bus): MemoryPart {
  return {
    read: (address, count) => {
      if (count <= PIECE_BYTES) return bus.transfer(MEMORY_ADDRESS, addressBytes(address), count);
      const all: number[] = [];
      while (all.length < count) {
        const piece = Math.min(PIECE_BYTES, count - all.length);
        const bytes = bus.transfer(MEMORY_ADDRESS, addressBytes(address + all.length), piece);
        if (bytes === undefined) return undefined;
        for (const byte of bytes) all.push(byte);
      }
      return all;
    },
    write: (address, bytes) => {
      let done = 0;
      while (done < bytes.length) {
        const end = Math.min(done + PIECE_BYTES, bytes.length);
        const sent = addressBytes(address + done);
        for (let i = done; i < end; i++) sent.push(bytes[i]);
        if (bus.transfer(MEMORY_ADDRESS, sent, 0) === undefined) return false;
        done = end;
      }
      return true;
    },
  };
}

function addressBytes(address: number): number[] {
  const high = Math.floor(address / 256);
  return [high, address - high * 256];
}
