/**
 * CRC-32C (Castagnoli): CRC-32/ISCSI of the Catalogue of parametrised CRC algorithms. Reflected polynomial 0x82f63b78,
 * register and result inverted.
 */

/** The checksum of `bytes` (each 0 to 255), 0 to 4294967295. */
export function crc32c(bytes: readonly number[]): number {
  return finishCrc(advanceCrc(CRC_START, bytes, bytes.length));
}

export const CRC_START = 0xffffffff;

/**
 * The register after the first `count` of `bytes`. Lua sees it unsigned and JavaScript signed; `>>>` and `^` act on its
 * 32 bits alike, and only `finishCrc` makes a number of it.
 */
export function advanceCrc(register: number, bytes: readonly number[], count: number): number {
  let crc = register;
  for (let i = 0; i < count; i++) {
    crc ^= bytes[i];
    crc = STEPS[crc & 15] ^ (crc >>> 4);
    crc = STEPS[crc & 15] ^ (crc >>> 4);
  }
  return crc;
}

export function finishCrc(register: number): number {
  return (register ^ 0xffffffff) >>> 0;
}

/**
 * What four bits do to the register, for each of their 16 values: four steps of the division. A table for whole bytes would
 * be faster by a third, but it is sixteen times as long, and the fixture starts and lives with every number that it has.
 */
const STEPS: readonly number[] = [
  0x00000000, 0x105ec76f, 0x20bd8ede, 0x30e349b1, 0x417b1dbc, 0x5125dad3, 0x61c69362, 0x7198540d, 0x82f63b78,
  0x92a8fc17, 0xa24bb5a6, 0xb21572c9, 0xc38d26c4, 0xd3d3e1ab, 0xe330a81a, 0xf36e6f75,
];
