/** One number for the whole message table, so that two peers can tell whether they were built from the same one. */
import { CRC_START, advanceCrc, finishCrc } from './crc32c';
import { MESSAGES } from './messages';
import type { MessageDefinition } from './messages';
import { textToBytes } from './text';

/** CRC-32C of the message table in canonical text (see the specification), 0 to 4294967295. */
export function tableHash(): number {
  let register = CRC_START;
  for (const line of canonicalLines()) {
    const bytes = textToBytes(line + '\n') ?? [];
    register = advanceCrc(register, bytes, bytes.length);
  }
  return finishCrc(register);
}

/** The lines of the canonical text, without their line feeds. What a message means is prose and not part of it. */
export function canonicalLines(): string[] {
  const lines: string[] = [];
  for (const message of MESSAGES as readonly MessageDefinition[]) {
    const answeredBy = message.answeredBy ?? '-';
    const core = message.frozen === true ? 'frozen' : '-';
    const words = [
      'message',
      hexByte(message.id),
      message.name,
      message.from,
      message.kind,
      answeredBy,
      message.since,
      core,
    ];
    lines.push(words.join(' '));
    for (const field of message.fields) lines.push(['field', field.type, field.name, field.unit].join(' '));
  }
  return lines;
}

/** Two lower-case hexadecimal digits; written out because the two runtimes print numbers differently. */
function hexByte(byte: number): string {
  return HEX.charAt(byte >>> 4) + HEX.charAt(byte & 15);
}

const HEX = '0123456789abcdef';
