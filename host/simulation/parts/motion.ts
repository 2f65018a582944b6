/**
 * 6-axis motion part with the LSM6DS3-class register set: identity, rate and range of force and turn rate, temperature,
 * little endian outputs, address counting up by itself, outputs held while they are read (block update).
 *
 * Register facts and the sizes of noise, zero-g level and zero-rate level: public data sheet of the class, from memory.
 */
import type { Random } from '../random';
import type { Slave, Surroundings } from './slave';

const IDENTITY = 0x69;
const CTRL1_XL = 0x10;
const CTRL2_G = 0x11;
const CTRL3_C = 0x12;
const CTRL3_C_POWER_ON = 0x04;
const AUTO_INCREMENT = 0x04;
const BLOCK_UPDATE = 0x40;
const STATUS = 0x1e;
const OUT_TEMP_L = 0x20;
const OUT_END = 0x2e;

/** By the rate bits, 0: off. */
const RATE_HZ = [0, 12.5, 26, 52, 104, 208, 416, 833, 1660, 3330, 6660, 0, 0, 0, 0, 0] as const;
/** By the range bits. */
const FORCE_MG_PER_COUNT = [0.061, 0.488, 0.122, 0.244] as const;
const TURN_MDEG_S_PER_COUNT = [8.75, 17.5, 35, 70] as const;
const TEMPERATURE_COUNTS_PER_C = 16;
const TEMPERATURE_ZERO_C = 25;

const FORCE_NOISE_MG = 1.3;
const TURN_NOISE_MDEG_S = 100;
const TEMPERATURE_NOISE_C = 0.03;

/** What one made part shows wrongly. */
export interface MotionErrors {
  readonly zeroForceMg: readonly [number, number, number];
  readonly zeroTurnMdegS: readonly [number, number, number];
  readonly temperatureC: number;
}

/** Draws the errors of one part. */
export function drawMotionErrors(random: Random): MotionErrors {
  return {
    zeroForceMg: [random.normal(15), random.normal(15), random.normal(15)],
    zeroTurnMdegS: [random.normal(2500), random.normal(2500), random.normal(2500)],
    temperatureC: random.normal(2),
  };
}

export interface MotionPart extends Slave {
  powerOn(): void;
}

export function createMotionPart(
  surroundings: Surroundings,
  errors: MotionErrors,
  random: Random,
): MotionPart {
  const registers = new Uint8Array(128);
  const output = new Uint8Array(OUT_END - OUT_TEMP_L);
  let pointer = 0;
  let first = true;
  let sampled = -1;
  let fresh = 0;
  let startedUs = 0;
  let held = false;

  function powerOn(): void {
    registers.fill(0);
    registers[0x0f] = IDENTITY;
    registers[CTRL3_C] = CTRL3_C_POWER_ON;
    output.fill(0);
    sampled = -1;
    fresh = 0;
  }

  function put(at: number, value: number): void {
    const counts = Math.max(-32768, Math.min(32767, Math.round(value)));
    output[at] = counts & 0xff;
    output[at + 1] = (counts >> 8) & 0xff;
  }

  /** Takes the sample that was last due; nothing while the outputs are held. */
  function catchUp(): void {
    const forceHz = RATE_HZ[registers[CTRL1_XL] >> 4];
    const turnHz = RATE_HZ[registers[CTRL2_G] >> 4];
    const hz = Math.max(forceHz, turnHz);
    if (hz === 0 || held) return;
    const due = Math.floor(((surroundings.nowUs() - startedUs) * hz) / 1e6);
    if (due <= sampled) return;
    sampled = due;
    const scene = surroundings.scene();
    put(
      0,
      (scene.temperatureC + errors.temperatureC + random.normal(TEMPERATURE_NOISE_C) - TEMPERATURE_ZERO_C) *
        TEMPERATURE_COUNTS_PER_C,
    );
    fresh = 4;
    for (let axis = 0; axis < 3; axis++) {
      if (turnHz > 0) {
        const mdegS =
          scene.turnRateDegS[axis] * 1000 + errors.zeroTurnMdegS[axis] + random.normal(TURN_NOISE_MDEG_S);
        put(2 + 2 * axis, mdegS / TURN_MDEG_S_PER_COUNT[(registers[CTRL2_G] >> 2) & 3]);
        fresh |= 2;
      }
      if (forceHz > 0) {
        const mg = scene.forceG[axis] * 1000 + errors.zeroForceMg[axis] + random.normal(FORCE_NOISE_MG);
        put(8 + 2 * axis, mg / FORCE_MG_PER_COUNT[(registers[CTRL1_XL] >> 2) & 3]);
        fresh |= 1;
      }
    }
  }

  function readRegister(address: number): number {
    if (address >= OUT_TEMP_L && address < OUT_END) {
      catchUp();
      held = (registers[CTRL3_C] & BLOCK_UPDATE) !== 0;
      fresh = 0;
      return output[address - OUT_TEMP_L];
    }
    if (address === STATUS) {
      catchUp();
      return fresh;
    }
    return registers[address];
  }

  function step(): void {
    if ((registers[CTRL3_C] & AUTO_INCREMENT) !== 0) pointer = (pointer + 1) & 0x7f;
  }

  powerOn();
  return {
    address: 0x6a,
    powerOn,
    start: (read) => {
      first = !read;
    },
    write: (byte) => {
      if (first) {
        pointer = byte & 0x7f;
        first = false;
        return true;
      }
      if (pointer >= CTRL1_XL && pointer <= 0x19) {
        registers[pointer] = byte;
        if (pointer === CTRL1_XL || pointer === CTRL2_G) {
          startedUs = surroundings.nowUs();
          sampled = 0;
        }
      }
      step();
      return true;
    },
    read: () => {
      const byte = readRegister(pointer);
      step();
      return byte;
    },
    stop: () => {
      held = false;
    },
  };
}
