/** The golden frames, both ways. The files are the truth; nothing in them is made by the code under test. */
import { describe, expect, test } from 'vitest';
import framesFile from '../../../protocol/vectors/v1/frames.json';
import streamsFile from '../../../protocol/vectors/v1/streams.json';
import type { Message } from '../../../protocol/wire/index';
import { MESSAGES, createFrameReader, encodeFrame } from '../../../protocol/wire/index';

const bytesOf = (hex: string) => [...Buffer.from(hex, 'hex')];
const frames = framesFile.frames as { title: string; message: Message; hex: string }[];

test('every message has at least three golden frames', () => {
  for (const { name } of MESSAGES) {
    expect(frames.filter((f) => f.message.name === name).length, name).toBeGreaterThanOrEqual(3);
  }
});

test('the errors that no request caused name no request, as section 7 says', () => {
  const unasked = frames.filter((f) => f.message.name === 'error' && f.message.sequence === 0);
  expect(unasked.length).toBeGreaterThan(1);
  for (const { message } of unasked) expect(message.body).toMatchObject({ aboutMessage: 0 });
});

describe.each(frames)('$title', ({ message, hex }) => {
  test('is encoded to its bytes', () => {
    expect(Buffer.from(encodeFrame(message)).toString('hex')).toBe(hex);
  });

  test('is decoded to its message', () => {
    expect(createFrameReader().push(bytesOf(hex))).toEqual([{ kind: 'message', message }]);
  });
});

test.each(streamsFile.streams)('$title: what a reader makes of it', ({ hex, received }) => {
  expect(createFrameReader().push(bytesOf(hex))).toEqual(received);
});
