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
  for (let i = 0; i < count; i++) crc = STEPS[(crc ^ bytes[i]) & 0xff] ^ (crc >>> 8);
  return crc;
}

export function finishCrc(register: number): number {
  return (register ^ 0xffffffff) >>> 0;
}

/** What one byte does to the register, for each of its 256 values. */
const STEPS: readonly number[] = tabulateSteps();

function tabulateSteps(): number[] {
  const steps: number[] = [];
  for (let byte = 0; byte < 256; byte++) {
    let crc = byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc & 1) === 1 ? (crc >>> 1) ^ 0x82f63b78 : crc >>> 1;
    steps.push(crc);
  }
  return steps;
}
