/** Messages as frames on the line: id, sequence number, fields, checksum; stuffed; ended by a 0. */
import { cobsDecode, cobsEncode } from './cobs';
import { CRC_START, advanceCrc, finishCrc } from './crc32c';
import { createFieldReader, writeField } from './fields';
import type { Value } from './fields';
import { MESSAGES } from './messages';
import type { Message, MessageDefinition } from './messages';

/** The longest frame on the line, with its delimiter. */
export const FRAME_BYTES_MAX = 254;

/** What one stretch between delimiters turned out to be. */
export type Received =
  | { kind: 'message'; message: Message }
  /** A good frame whose id this version does not know. */
  | { kind: 'unknown'; id: number; sequence: number }
  /** `bytes` were lost, the delimiter not counted. */
  | { kind: 'damaged'; bytes: number; why: 'stuffing' | 'checksum' | 'too long' }
  /** The checksum is good, but the frame is shorter than its fields or a text is no UTF-8. */
  | { kind: 'damaged'; bytes: number; why: 'malformed'; id: number; sequence: number };

export interface FrameReader {
  /** Takes bytes as they come, in pieces of any size, and returns what was completed by them. Never throws. */
  push(bytes: readonly number[]): Received[];
}

/**
 * The frame of `message`, its delimiter included.
 *
 * @throws Error when a field does not fit its type or the frame would be longer than FRAME_BYTES_MAX.
 */
export function encodeFrame(message: Message): number[] {
  const definition = BY_NAME[message.name];
  if (definition === undefined) throw new Error(message.name + ': no such message');
  const plain: number[] = [definition.id];
  if (!writeField(plain, SEQUENCE, message.sequence))
    throw new Error(message.name + ': sequence number is not 0 to 255');
  const body = message.body as { readonly [name: string]: Value };
  for (const field of definition.fields) {
    if (!writeField(plain, field, body[field.name])) {
      throw new Error(message.name + '.' + field.name + ': value does not fit ' + field.type);
    }
  }
  writeField(plain, CHECKSUM, finishCrc(advanceCrc(CRC_START, plain, plain.length)));
  const frame = cobsEncode(plain);
  frame.push(0);
  if (frame.length > FRAME_BYTES_MAX) throw new Error(message.name + ': the frame is longer than 254 bytes');
  return frame;
}

/** A reader of one stream of frames. It keeps at most one frame's bytes and starts afresh at every delimiter. */
export function createFrameReader(): FrameReader {
  let pending: number[] = [];
  let overlong = false;

  function take(byte: number, received: Received[]): void {
    if (byte !== 0) {
      pending.push(byte);
      if (pending.length < FRAME_BYTES_MAX) return;
      overlong = true;
    }
    if (pending.length > 0) {
      received.push(
        overlong ? { kind: 'damaged', bytes: pending.length, why: 'too long' } : readFrame(pending),
      );
      pending = [];
    }
    if (byte === 0) overlong = false;
  }

  return {
    push: (bytes) => {
      const received: Received[] = [];
      for (const byte of bytes) take(byte, received);
      return received;
    },
  };
}

const SEQUENCE = { name: 'sequence', type: 'u8', unit: 'count', meaning: '' } as const;
const CHECKSUM = { name: 'checksum', type: 'u32', unit: 'CRC-32C', meaning: '' } as const;
/** Bytes before the fields and after them. */
const HEADER_BYTES = 2;
const CHECKSUM_BYTES = 4;

const BY_NAME: { [name: string]: MessageDefinition | undefined } = {};
for (const definition of MESSAGES as readonly MessageDefinition[]) {
  BY_NAME[definition.name] = definition;
}

function withId(id: number): MessageDefinition | undefined {
  for (const definition of MESSAGES) if (definition.id === id) return definition;
  return undefined;
}

/** What the stuffed bytes between two delimiters are. */
function readFrame(stuffed: readonly number[]): Received {
  const plain = cobsDecode(stuffed);
  if (plain === undefined) return { kind: 'damaged', bytes: stuffed.length, why: 'stuffing' };
  const fieldsEnd = plain.length - CHECKSUM_BYTES;
  if (fieldsEnd < HEADER_BYTES || !checksumAgrees(plain, fieldsEnd)) {
    return { kind: 'damaged', bytes: stuffed.length, why: 'checksum' };
  }
  const id = plain[0];
  const sequence = plain[1];
  const definition = withId(id);
  if (definition === undefined) return { kind: 'unknown', id, sequence };

  const reader = createFieldReader(plain, HEADER_BYTES, fieldsEnd);
  const body: { [name: string]: Value } = {};
  for (const field of definition.fields) body[field.name] = reader.read(field);
  if (reader.failed()) return { kind: 'damaged', bytes: stuffed.length, why: 'malformed', id, sequence };
  return { kind: 'message', message: { name: definition.name, sequence, body } as unknown as Message };
}

function checksumAgrees(plain: readonly number[], fieldsEnd: number): boolean {
  const sent = createFieldReader(plain, fieldsEnd, plain.length).read(CHECKSUM);
  return sent === finishCrc(advanceCrc(CRC_START, plain, fieldsEnd));
}
