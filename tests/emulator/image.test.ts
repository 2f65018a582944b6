/** What lies in the image, byte by byte. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { inFlash } from '../../firmware/byte-code';
import { FLASH_ADDRESS, byteCode } from '../../firmware/image';
import { firmwareBundle } from '../../host/simulation/firmware-bundle';
import { CANNOT_RUN, currentImage, named } from './workbench';

describe.skipIf(CANNOT_RUN !== undefined)(named('the image'), { timeout: 180_000 }, () => {
  it('holds the byte code of the very bundle that the simulated fixture runs, and its instructions', () => {
    const image = currentImage();
    const bytes = readFileSync(image.bin);
    const at = image.symbols.get('firmware')! - FLASH_ADDRESS;
    const chunk = byteCode(firmwareBundle());
    expect(bytes.subarray(at).equals(inFlash(chunk))).toBe(true);
    // Every byte of the chunk is there once: the instructions in front, the rest behind them, and two lengths.
    expect(bytes.length - at).toBe(8 + chunk.length);
    expect(bytes.readUInt32LE(at) + bytes.readUInt32LE(at + 4)).toBe(chunk.length);
    // A quarter of the text's size at least, so that an empty chunk cannot pass.
    expect(chunk.length).toBeGreaterThan(firmwareBundle().length / 4);
  });

  it('begins with a second boot stage that the boot ROM accepts, then the vectors', () => {
    const image = currentImage();
    const bytes = readFileSync(image.bin);
    expect(bytes.readUInt32LE(252)).toBe(crc32Mpeg2(bytes.subarray(0, 252)));
    expect(bytes.readUInt32LE(256)).toBe(0x20042000);
    expect(bytes.readUInt32LE(260)).toBe(image.symbols.get('reset')! + 1);
  });

  it('is a UF2 file of the RP2040 family that covers the image without a gap', () => {
    const image = currentImage();
    const bytes = readFileSync(image.bin);
    const uf2 = readFileSync(image.uf2);
    const words = (block: number) =>
      Array.from({ length: 8 }, (_, i) => uf2.readUInt32LE(block * 512 + 4 * i));
    const count = Math.ceil(bytes.length / 256);
    expect(uf2.length).toBe(count * 512);
    const together = Buffer.alloc(count * 256);
    for (let block = 0; block < count; block++) {
      // Magic numbers, flags and family: the published description of UF2, from memory.
      expect(words(block)).toEqual([
        0x0a324655,
        0x9e5d5157,
        0x2000,
        0x10000000 + block * 256,
        256,
        block,
        count,
        0xe48bff56,
      ]);
      expect(uf2.readUInt32LE(block * 512 + 508)).toBe(0x0ab16f30);
      uf2.copy(together, block * 256, block * 512 + 32, block * 512 + 288);
    }
    expect(together.subarray(0, bytes.length).equals(bytes)).toBe(true);
  });
});

/**
 * CRC-32/MPEG-2 of the Catalogue of parametrised CRC algorithms (check value 0376e6e7 of "123456789", from memory), by
 * division of the whole message at once, not byte by byte.
 */
function crc32Mpeg2(bytes: Uint8Array): number {
  const divide = (message: Uint8Array): number => {
    let rest = 0n;
    for (const byte of message) rest = (rest << 8n) | BigInt(byte);
    const length = BigInt(message.length * 8);
    rest = (rest << 32n) ^ (0xffffffffn << length);
    for (let bit = length - 1n; bit >= 0n; bit--) {
      if (((rest >> (bit + 32n)) & 1n) === 1n) rest ^= 0x104c11db7n << bit;
    }
    return Number(rest);
  };
  expect(divide(Buffer.from('123456789'))).toBe(0x0376e6e7);
  return divide(bytes);
}
