/** Holds `protocol/SPEC.md` against the code. To bring its tables up to date run `update-spec.ts`. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { captureHeightUm } from '../../../protocol/solver/capture-height';
import type { Message } from '../../../protocol/wire/index';
import {
  PROTOCOL_MAJOR,
  PROTOCOL_MINOR,
  REBOOT_CONFIRMATION,
  TABLE_HASH,
  cobsDecode,
  cobsEncode,
  crc32c,
  encodeFrame,
} from '../../../protocol/wire/index';
import { canonicalLines, withTables } from './spec-tables';

const SPEC = readFileSync('protocol/SPEC.md', 'utf8');
const bytesOf = (hex: string) => [...Buffer.from(hex.replaceAll(' ', ''), 'hex')];
const hexOf = (bytes: readonly number[]) =>
  Buffer.from(bytes)
    .toString('hex')
    .toUpperCase()
    .replace(/..(?=.)/g, '$& ');

test('every table of the specification is the one of the code', () => {
  expect(SPEC).toBe(withTables(SPEC));
});

test('the specification is of this version, and its newest revision too', () => {
  const version = `${PROTOCOL_MAJOR}.${PROTOCOL_MINOR}`;
  expect(SPEC).toContain(`# The Swathplane wire protocol, version ${version}\n`);
  const newest = /^## (.+), \d{4}-\d\d-\d\d$/m.exec(readFileSync('protocol/REVISIONS.md', 'utf8'));
  expect(newest?.[1]).toBe(version);
  expect(SPEC).toContain(`0x${REBOOT_CONFIRMATION.toString(16)}`);
});

test('the message table is ASCII, as its canonical text must be, and the table hash is of that text', () => {
  const text = canonicalLines().map((line) => `${line}\n`);
  expect(text.join('')).toMatch(/^[ -~\n]+$/);
  expect(crc32c([...Buffer.from(text.join(''))])).toBe(TABLE_HASH);
});

test('the worked frames are what the codec makes', () => {
  const worked: Message[] = [
    { name: 'arm', sequence: 7, body: { job: 1042, step: 3, purpose: 0, liveHz: 20, standardErrorUm: 15 } },
    { name: 'identify', sequence: 1, body: {} },
  ];
  const unbroken = SPEC.replaceAll(/\s+/g, ' ');
  for (const message of worked) expect(unbroken).toContain(`\`${hexOf(encodeFrame(message))}\``);
});

test('the check values of checksum and stuffing hold', () => {
  // The three long ones are also in RFC 3720, B.4 (from memory).
  const check = (bytes: readonly number[]) =>
    `0x${crc32c(bytes).toString(16).toUpperCase().padStart(8, '0')}`;
  const upTo = (count: number, f: (i: number) => number) => Array.from({ length: count }, (_, i) => f(i));
  expect(SPEC).toContain(`| none | ${check([])} |`);
  expect(SPEC).toContain(`| \`00\` | ${check([0])} |`);
  expect(SPEC).toContain(`(the text 123456789) | ${check([...Buffer.from('123456789')])} |`);
  expect(SPEC).toContain(`| 32 times \`00\` | ${check(upTo(32, () => 0))} |`);
  expect(SPEC).toContain(`| 32 times \`FF\` | ${check(upTo(32, () => 255))} |`);
  expect(SPEC).toContain(`| \`00 01 02\` up to \`1F\` | ${check(upTo(32, (i) => i))} |`);

  const section = SPEC.slice(SPEC.indexOf('| plain | stuffed |'), SPEC.indexOf('### 2.3'));
  const rows = [...section.matchAll(/^\| (?:none|`([0-9A-F ]+)`) \| `([0-9A-F ]+)` \|$/gm)];
  expect(rows).toHaveLength(5);
  for (const [, plain = '', stuffed = ''] of rows) expect(hexOf(cobsEncode(bytesOf(plain)))).toBe(stuffed);
  for (const refused of ['05 31 32 33', '05 31 32 00 34']) {
    expect(section).toContain(`\`${refused}\``);
    expect(cobsDecode(bytesOf(refused))).toBeUndefined();
  }
});

test('the worked height is what fixture and host compute', () => {
  // The figures were computed by a separate program in another language from the specification alone.
  const calibration = {
    ...{ beamX: 17_452_406, beamY: 0, beamZ: -999_847_695, edgeX: -30_000, edgeY: 5000, edgeZ: 12_000 },
    ...{ gravityBiasX: 2000, gravityBiasY: -1500, gravityBiasZ: 3000, temperatureReference: 2000 },
    ...{ temperatureGain: -15_000, knots: [1_000_000, 65_000, 4_000_000, 100_000, 7_000_000, 135_000] },
  };
  const gravity = { gravityX: 12_000, gravityY: -34_000, gravityZ: 1_001_500 };
  const height = captureHeightUm(calibration, { countsMean: 3_123_456, temperature: 2350, ...gravity });
  expect(height).toEqual({ distanceUm: 89_769, heightUm: 101_218, inRange: true });
  expect(SPEC).toContain('| `distance` | 89 769 |\n| `height` | 101 218 |');
});
