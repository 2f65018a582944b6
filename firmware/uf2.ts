/** What the RP2040's boot ROM expects of an image: the second boot stage's checksum, and the file that is dragged onto it. */

/** RP2040 data sheet, appendix "UF2 format details": the family that a file says it is for. */
export const RP2040_FAMILY = 0xe48bff56;

const PAYLOAD_BYTES = 256;
const BLOCK_BYTES = 512;
const FIRST_MAGIC = 0x0a324655;
const SECOND_MAGIC = 0x9e5d5157;
const LAST_MAGIC = 0x0ab16f30;
const FAMILY_GIVEN = 0x2000;

/**
 * The file format UF2: blocks of 512 bytes, each with 256 bytes of the image and where in the flash they belong
 * (specification of the format, from memory).
 */
export function uf2(image: Uint8Array, address: number): Uint8Array {
  const count = Math.ceil(image.length / PAYLOAD_BYTES);
  const file = new Uint8Array(count * BLOCK_BYTES);
  const view = new DataView(file.buffer);
  for (let i = 0; i < count; i++) {
    const at = i * BLOCK_BYTES;
    const header = [
      FIRST_MAGIC,
      SECOND_MAGIC,
      FAMILY_GIVEN,
      address + i * PAYLOAD_BYTES,
      PAYLOAD_BYTES,
      i,
      count,
      RP2040_FAMILY,
    ];
    header.forEach((word, n) => view.setUint32(at + 4 * n, word, true));
    file.set(image.subarray(i * PAYLOAD_BYTES, (i + 1) * PAYLOAD_BYTES), at + 32);
    view.setUint32(at + BLOCK_BYTES - 4, LAST_MAGIC, true);
  }
  return file;
}

/** CRC-32 with polynomial 04C11DB7, started with ones, neither mirrored nor inverted (RP2040 data sheet, 2.8.1.3.1). */
export function crcOfBoot2(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = (crc & 0x80000000) !== 0 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  return crc >>> 0;
}
