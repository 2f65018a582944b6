import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Message, MessageDefinition } from '../../../protocol/wire/index';
import {
  FRAME_BYTES_MAX,
  MESSAGES,
  cobsDecode,
  cobsEncode,
  crc32c,
  createFrameReader,
  encodeFrame,
} from '../../../protocol/wire/index';
import { anyMessage, anyMessageOf } from './messages';

const DEFINITIONS: readonly MessageDefinition[] = MESSAGES;

const read = (...pieces: number[][]) => {
  const reader = createFrameReader();
  return pieces.flatMap((piece) => reader.push(piece));
};

/** A frame around any plain bytes, with a good checksum. */
function frameOf(plain: number[]): number[] {
  const crc = crc32c(plain);
  return [...cobsEncode([...plain, ...[0, 8, 16, 24].map((shift) => (crc >>> shift) & 0xff)]), 0];
}

/** Id, sequence number and fields of a frame. */
const plainOf = (frame: number[]) => (cobsDecode(frame.slice(0, -1)) ?? []).slice(0, -4);

describe('a frame', () => {
  test.each(DEFINITIONS)('of $name comes back as the message it was made of', (definition) => {
    fc.assert(
      fc.property(anyMessageOf(definition), (message) => {
        const frame = encodeFrame(message);
        expect(frame.length).toBeLessThanOrEqual(FRAME_BYTES_MAX);
        expect(frame.indexOf(0)).toBe(frame.length - 1);
        expect(read(frame)).toEqual([{ kind: 'message', message }]);
      }),
      { seed: 1, numRuns: 200 },
    );
  });

  test('is read alike however the line cuts it, with empty frames between', () => {
    fc.assert(
      fc.property(
        fc.array(anyMessage, { maxLength: 4 }),
        fc.integer({ min: 1, max: 9 }),
        (messages, size) => {
          const line = messages.flatMap((m) => [0, ...encodeFrame(m), 0]);
          const pieces = Array.from({ length: Math.ceil(line.length / size) }, (_, i) =>
            line.slice(i * size, i * size + size),
          );
          expect(read(...pieces)).toEqual(messages.map((message) => ({ kind: 'message', message })));
        },
      ),
      { seed: 2, numRuns: 200 },
    );
  });

  test('may carry bytes after the known fields, which are ignored', () => {
    fc.assert(
      fc.property(anyMessage, fc.uint8Array({ maxLength: 20 }), (message, later) => {
        const extended = frameOf([...plainOf(encodeFrame(message)), ...later]);
        expect(read(extended)).toEqual([{ kind: 'message', message }]);
      }),
      { seed: 3, numRuns: 500 },
    );
  });

  test('that is shorter than its fields is malformed, with the number to answer to', () => {
    fc.assert(
      fc.property(anyMessage, fc.nat(), (message, where) => {
        const plain = plainOf(encodeFrame(message));
        fc.pre(plain.length > 2);
        const frame = frameOf(plain.slice(0, 2 + (where % (plain.length - 2))));
        const { name, sequence } = message;
        const id = DEFINITIONS.find((d) => d.name === name)?.id;
        expect(read(frame)).toEqual([
          { kind: 'damaged', why: 'malformed', bytes: frame.length - 1, id, sequence },
        ]);
      }),
      { seed: 4, numRuns: 500 },
    );
  });

  test('with any one bit wrong gives no message', () => {
    fc.assert(
      fc.property(anyMessage, fc.nat(), (message, where) => {
        const frame = encodeFrame(message);
        const bit = where % ((frame.length - 1) * 8);
        frame[bit >>> 3] ^= 1 << (bit & 7);
        for (const received of read(frame)) expect(received.kind).toBe('damaged');
      }),
      { seed: 5, numRuns: 2000 },
    );
  });

  test('with an id outside the table is unknown, not damaged', () => {
    expect(read(frameOf([0xfe, 7, 1, 2, 3]))).toEqual([{ kind: 'unknown', id: 0xfe, sequence: 7 }]);
  });
});

describe('what is no frame', () => {
  test('is reported with its size and its kind of damage', () => {
    expect(read([5, 1, 2, 0])).toEqual([{ kind: 'damaged', bytes: 3, why: 'stuffing' }]);
    expect(read([3, 1, 2, 0])).toEqual([{ kind: 'damaged', bytes: 3, why: 'checksum' }]);
    expect(read(frameOf([1]))).toEqual([{ kind: 'damaged', bytes: 6, why: 'checksum' }]);
    expect(read(frameOf([0x02, 9, 1, 0, 0, 0, 0, 0, 64, 0, 0, 0, 0, 1, 0xff, 0, 0]))).toEqual([
      { kind: 'damaged', bytes: 22, why: 'malformed', id: 2, sequence: 9 },
    ]);
  });

  test('is reported in pieces when no delimiter comes, and counted to the byte', () => {
    const flood = Array.from({ length: 600 }, () => 0x55);
    const damaged = (bytes: number) => ({ kind: 'damaged', bytes, why: 'too long' });
    expect(read(flood)).toEqual([damaged(254), damaged(254)]);
    expect(read(flood, [0])).toEqual([damaged(254), damaged(254), damaged(92)]);
  });

  test('does not hide the frame after the next delimiter', () => {
    const message: Message = { name: 'armed', sequence: 3, body: { nextCapture: 0xdead_beef } };
    for (const length of [1, 100, 253, 254, 255, 508, 509]) {
      const noise = Array.from({ length }, (_, i) => 1 + (i % 255));
      expect(read(noise, [0], encodeFrame(message)).at(-1)).toEqual({ kind: 'message', message });
    }
  });
});

describe('the encoder refuses', () => {
  const arm = { job: 1, step: 1, purpose: 0, liveHz: 20, standardErrorUm: 10 };

  test.each([
    ['a value above its range', { ...arm, liveHz: 256 }],
    ['a value below its range', { ...arm, job: -1 }],
    ['a value that is no integer', { ...arm, step: 0.5 }],
    ['a value that is no number', { ...arm, standardErrorUm: NaN }],
    ['an infinite value', { ...arm, job: Infinity }],
  ])('%s, and names the field', (_what, body) => {
    expect(() => encodeFrame({ name: 'arm', sequence: 1, body })).toThrow(
      /^arm\.(liveHz|job|step|standardErrorUm): /,
    );
  });

  test('a sequence number that is no byte', () => {
    expect(() => encodeFrame({ name: 'capture', sequence: 256, body: {} })).toThrow(/sequence/);
  });

  const identity = { protocolMajor: 1, protocolMinor: 0, tableHash: 0, numberBits: 64, bootCount: 1 };
  const named = (firmwareVersion: string, board: string): Message => ({
    name: 'identity',
    sequence: 1,
    body: { ...identity, firmwareVersion, board, fixtureId: '' },
  });

  test('half a character and a text of more than 255 bytes', () => {
    expect(() => encodeFrame(named('\ud800', ''))).toThrow('identity.firmwareVersion');
    expect(() => encodeFrame(named('é'.repeat(128), ''))).toThrow('identity.firmwareVersion');
  });

  test('a frame of more than 254 bytes, and takes one of exactly 254', () => {
    // 2 bytes of header, 11 of numbers, 3 of text lengths and 4 of checksum leave 232 of the 252 for texts.
    const whole = named('v'.repeat(116), 'b'.repeat(116));
    expect(encodeFrame(whole)).toHaveLength(FRAME_BYTES_MAX);
    expect(read(encodeFrame(whole))).toEqual([{ kind: 'message', message: whole }]);
    expect(() => encodeFrame(named('v'.repeat(117), 'b'.repeat(116)))).toThrow('254');
  });
});
