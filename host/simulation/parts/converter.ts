/**
 * 16-bit converter with the ADS1115-class register set: pointer, conversion (0x00), configuration (0x01), big endian;
 * single shots or free running; multiplexer and gain.
 *
 * Register facts: public data sheet of the class, from memory. Noise: about one count at 860 conversions a second.
 */
import type { Random } from '../random';
import type { Slave } from './slave';

const POWER_ON_CONFIG = 0x8583;
const CONVERSION = 0;
const CONFIG = 1;
const SINGLE_SHOT = 0x0100;
const START = 0x8000;

/** By the data rate bits. */
const CONVERSIONS_PER_S = [8, 16, 32, 64, 128, 250, 475, 860] as const;
/** By the gain bits. */
const FULL_SCALE_V = [6.144, 4.096, 2.048, 1.024, 0.512, 0.256, 0.256, 0.256] as const;
const NOISE_COUNTS = 0.8;

export interface Converter extends Slave {
  powerOn(): void;
}

/** `inputV(n)` is the voltage at input n (0 to 3) now. */
export function createConverter(
  nowUs: () => number,
  inputV: (input: number) => number,
  random: Random,
): Converter {
  let pointer = 0;
  let config = POWER_ON_CONFIG;
  let conversion = 0;
  /** Free running: start of the run. Single shot: start of the shot that is still to be converted. */
  let startedUs: number | undefined;
  let finished = 0;
  let byteIndex = 0;
  let written: number[] = [];

  const periodUs = () => 1e6 / CONVERSIONS_PER_S[(config >> 5) & 7];

  function convert(): number {
    const volts = inputDifference((config >> 12) & 7, inputV);
    const counts = (volts / FULL_SCALE_V[(config >> 9) & 7]) * 32768 + random.normal(NOISE_COUNTS);
    return Math.max(-32768, Math.min(32767, Math.round(counts)));
  }

  /** Makes the conversions that have ended by now; only the last of them can be read. */
  function catchUp(): void {
    if (startedUs === undefined) return;
    const ended = Math.floor((nowUs() - startedUs) / periodUs());
    if (ended <= finished) return;
    conversion = convert();
    finished = ended;
    if ((config & SINGLE_SHOT) !== 0) startedUs = undefined;
  }

  function configure(value: number): void {
    const single = (value & SINGLE_SHOT) !== 0;
    config = value & ~START;
    startedUs = single && (value & START) === 0 ? undefined : nowUs();
    finished = 0;
  }

  function register(): number {
    catchUp();
    if (pointer === CONVERSION) return conversion & 0xffff;
    if (pointer !== CONFIG) return 0xffff;
    const converting = startedUs !== undefined && (config & SINGLE_SHOT) !== 0;
    return config | (converting ? 0 : START);
  }

  return {
    address: 0x48,
    powerOn: () => {
      pointer = 0;
      config = POWER_ON_CONFIG & ~START;
      conversion = 0;
      startedUs = undefined;
      finished = 0;
    },
    start: () => {
      byteIndex = 0;
      written = [];
    },
    write: (byte) => {
      written.push(byte);
      if (written.length === 1) pointer = byte & 3;
      if (written.length === 3 && pointer === CONFIG) configure(written[1] * 256 + byte);
      return true;
    },
    read: () => {
      const value = register();
      const byte = byteIndex % 2 === 0 ? value >> 8 : value & 0xff;
      byteIndex += 1;
      return byte;
    },
    stop: () => undefined,
  };
}

function inputDifference(multiplexer: number, inputV: (input: number) => number): number {
  if (multiplexer >= 4) return inputV(multiplexer - 4);
  const pairs = [
    [0, 1],
    [0, 3],
    [1, 3],
    [2, 3],
  ] as const;
  const [plus, minus] = pairs[multiplexer];
  return inputV(plus) - inputV(minus);
}
