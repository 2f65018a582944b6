/**
 * The 16-bit converter behind the distance sensor (ADS1115-class register set). It runs freely at 860 conversions a
 * second, so a reading is never older than 1.2 ms.
 *
 * Register facts: public data sheet of the class, from memory.
 */
import type { Bus } from '../ports/ports';

export const CONVERTER_ADDRESS = 0x48;

const CONVERSION = 0x00;
const CONFIG = 0x01;

const INPUT_0_TO_GROUND = 0x4000;
const RANGE_4096_MV = 0x0200;
const CONTINUOUS = 0x0000;
const RATE_860_PER_S = 0x00e0;
const COMPARATOR_OFF = 0x0003;
const FREE_RUNNING = INPUT_0_TO_GROUND + RANGE_4096_MV + CONTINUOUS + RATE_860_PER_S + COMPARATOR_OFF;
const FREE_RUNNING_HIGH = 0x42;
const FREE_RUNNING_LOW = FREE_RUNNING - FREE_RUNNING_HIGH * 256;

/** Written before reading, and kept, so that a sample costs no new array. */
const POINT_TO_CONVERSION: readonly number[] = [CONVERSION];

export interface Converter {
  /** Sets it converting. False when it does not answer or does not keep its settings. */
  start(): boolean;
  /** The newest conversion in counts of 125 uV, -32768 to 32767; undefined when it does not answer or lost its settings. */
  read(): number | undefined;
}

export function createConverter(bus: Bus): Converter {
  function isSet(): boolean {
    const kept = bus.transfer(CONVERTER_ADDRESS, [CONFIG], 2);
    // The top bit says only whether a conversion runs just now.
    return kept !== undefined && kept[0] % 128 === FREE_RUNNING_HIGH && kept[1] === FREE_RUNNING_LOW;
  }

  return {
    start: () =>
      bus.transfer(CONVERTER_ADDRESS, [CONFIG, FREE_RUNNING_HIGH, FREE_RUNNING_LOW], 0) !== undefined &&
      isSet(),
    read: () => {
      const bytes = bus.transfer(CONVERTER_ADDRESS, POINT_TO_CONVERSION, 2);
      if (bytes === undefined) return undefined;
      const counts = bytes[0] * 256 + bytes[1];
      // What a converter shows for ever that lost its settings in a dip of its supply.
      if (counts === 0 && !isSet()) return undefined;
      return counts < 32768 ? counts : counts - 65536;
    },
  };
}
