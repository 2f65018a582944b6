/** Checksum and stuffing against published examples; each data file names its source. */
import { expect, test } from 'vitest';
import { cobsDecode, cobsEncode, crc32c } from '../../../protocol/wire/index';
import cobs from '../../reference/data/01-cobs.json';
import crc from '../../reference/data/01-crc.json';

const bytesOf = (hex: string) => [...Buffer.from(hex, 'hex')];

test('CRC-32C gives the check value and the residue of the catalogue', () => {
  const entry = crc.expected.algorithms.find((a) => a.name === 'CRC-32/ISCSI');
  const message = bytesOf(crc.data.message_hex);
  const checksum = crc32c(message);
  expect(checksum).toBe(Number(entry?.check));

  const littleEndian = [0, 8, 16, 24].map((shift) => (checksum >>> shift) & 0xff);
  const residue = Number(entry?.residue_as_computed_with_reflected_register ?? 0);
  expect(crc32c([...message, ...littleEndian])).toBe((residue ^ 0xffffffff) >>> 0);
});

test.each(cobs.data.cases)('COBS both ways: $name', ({ plain_hex, encoded_hex }) => {
  expect(cobsEncode(bytesOf(plain_hex))).toEqual(bytesOf(encoded_hex));
  expect(cobsDecode(bytesOf(encoded_hex))).toEqual(bytesOf(plain_hex));
});

test.each(cobs.expected.must_reject_hex)('COBS refuses $encoded_hex: $why', ({ encoded_hex }) => {
  expect(cobsDecode(bytesOf(encoded_hex))).toBeUndefined();
});
