/**
 * The 6-axis motion part (LSM6DS3-class register set): specific force, turn rate and temperature. Its axes lie along the
 * fixture's: x toward the blade's centre, y to the left when looking along x, z up.
 *
 * Register facts: public data sheet of the class, from memory.
 */
import type { Bus } from '../ports/ports';

export const MOTION_ADDRESS = 0x6a;

const WHO_AM_I = 0x0f;
const IDENTITY = 0x69;

const CTRL1_XL = 0x10;
const FORCE_416_HZ_4_G = 0x68;
const CTRL2_G = 0x11;
const RATE_416_HZ_500_DEG_S = 0x64;
const CTRL3_C = 0x12;
const BLOCK_UPDATE_AUTO_INCREMENT = 0x44;

const OUT_TEMP_L = 0x20;
/** Temperature, three rates, three forces, two bytes each, lie one after the other. */
const OUT_BYTES = 14;
const FORCES_AT = 8;

const TEMPERATURE_ZERO_CENTI_C = 2500;
const TEMPERATURE_PER_COUNT_CENTI_C = 100 / 16;
const RATE_PER_COUNT_MDEG_S = 17.5;
const FORCE_PER_COUNT_UG = 122;

const POINT_TO_OUTPUT: readonly number[] = [OUT_TEMP_L];

/** One reading, as measured: no bias is taken off. */
export interface MotionSample {
  temperatureCentiC: number;
  rateXMdegS: number;
  rateYMdegS: number;
  rateZMdegS: number;
  forceXUg: number;
  forceYUg: number;
  forceZUg: number;
}

export interface MotionPart {
  /** Sets it measuring. False when it does not answer or is another part. */
  start(): boolean;
  /** Puts the newest reading into `sample`. False, and `sample` is unchanged, when the part does not answer or lost its settings. */
  read(sample: MotionSample): boolean;
}

export function createMotionPart(bus: Bus): MotionPart {
  function set(register: number, value: number): boolean {
    return bus.transfer(MOTION_ADDRESS, [register, value], 0) !== undefined;
  }

  function isSet(): boolean {
    const kept = bus.transfer(MOTION_ADDRESS, [CTRL1_XL], 1);
    return kept !== undefined && kept[0] === FORCE_416_HZ_4_G;
  }

  return {
    start: () => {
      const identity = bus.transfer(MOTION_ADDRESS, [WHO_AM_I], 1);
      return (
        identity !== undefined &&
        identity[0] === IDENTITY &&
        set(CTRL3_C, BLOCK_UPDATE_AUTO_INCREMENT) &&
        set(CTRL1_XL, FORCE_416_HZ_4_G) &&
        set(CTRL2_G, RATE_416_HZ_500_DEG_S)
      );
    },
    read: (sample) => {
      const bytes = bus.transfer(MOTION_ADDRESS, POINT_TO_OUTPUT, OUT_BYTES);
      if (bytes === undefined || (feelsNothing(bytes) && !isSet())) return false;
      sample.temperatureCentiC = TEMPERATURE_ZERO_CENTI_C + signed(bytes, 0) * TEMPERATURE_PER_COUNT_CENTI_C;
      sample.rateXMdegS = signed(bytes, 2) * RATE_PER_COUNT_MDEG_S;
      sample.rateYMdegS = signed(bytes, 4) * RATE_PER_COUNT_MDEG_S;
      sample.rateZMdegS = signed(bytes, 6) * RATE_PER_COUNT_MDEG_S;
      sample.forceXUg = signed(bytes, 8) * FORCE_PER_COUNT_UG;
      sample.forceYUg = signed(bytes, 10) * FORCE_PER_COUNT_UG;
      sample.forceZUg = signed(bytes, 12) * FORCE_PER_COUNT_UG;
      return true;
    },
  };
}

/** What a part shows for ever that lost its settings in a dip of its supply: its zero alone would then point somewhere. */
function feelsNothing(bytes: readonly number[]): boolean {
  for (let i = FORCES_AT; i < OUT_BYTES; i++) if (bytes[i] !== 0) return false;
  return true;
}

function signed(bytes: readonly number[], at: number): number {
  const value = bytes[at] + bytes[at + 1] * 256;
  return value < 32768 ? value : value - 65536;
}
