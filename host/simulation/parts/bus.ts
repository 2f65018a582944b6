/** The two-wire bus: puts parts together to the firmware's `Bus` port. */
import type { Bus } from '../../../firmware/ports/ports';
import type { Slave } from './slave';

/** Nine clocks a byte at 400 kHz. */
const US_PER_BYTE = 22.5;

export interface PartsBus extends Bus {
  /** Holds the data line low until it is let go. */
  hold(stuck: boolean): void;
  /** Takes a part off the bus, or puts it back. */
  detach(address: number, missing: boolean): void;
}

/** `spend` is told how long each transaction takes. */
export function createPartsBus(
  parts: readonly Slave[],
  spend: (us: number) => void = () => undefined,
): PartsBus {
  const missing = new Set<number>();
  let stuck = false;

  function write(part: Slave, bytes: readonly number[]): boolean {
    part.start(false);
    return bytes.every((byte) => part.write(byte));
  }

  return {
    hold: (on) => {
      stuck = on;
    },
    detach: (address, gone) => {
      if (gone) missing.add(address);
      else missing.delete(address);
    },
    recover: () => !stuck,
    transfer: (address, bytes, readCount) => {
      if (stuck) return undefined;
      const part = parts.find((p) => p.address === address && !missing.has(address));
      spend(US_PER_BYTE * (1 + bytes.length + (readCount > 0 ? 1 + readCount : 0)));
      if (part === undefined) return undefined;
      const taken = bytes.length === 0 || write(part, bytes);
      const read: number[] = [];
      if (taken && readCount > 0) {
        part.start(true);
        for (let i = 0; i < readCount; i++) read.push(part.read());
      }
      part.stop();
      return taken ? read : undefined;
    },
  };
}
