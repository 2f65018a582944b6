/** One number for the whole message table, so that two peers can tell whether they were built from the same one. */
import { CRC_START, advanceCrc, finishCrc } from './crc32c';
import { MESSAGES } from './messages';
import type { MessageDefinition } from './messages';

/** CRC-32C of the message table in canonical text (see the specification), 0 to 4294967295. */
export function tableHash(): number {
  if (hash === undefined) hash = hashLines(canonicalLines());
  return hash;
}

/** Kept, because it is as much work for the fixture as eighty frames. */
let hash: number | undefined = undefined;

function hashLines(lines: readonly string[]): number {
  let register = CRC_START;
  for (const line of lines) {
    // The table is ASCII, so that characters are bytes in either runtime.
    const bytes: number[] = [];
    for (let i = 0; i < line.length; i++) bytes.push(line.charCodeAt(i));
    bytes.push(LINE_FEED);
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
    const head = ['message', hexByte(message.id), message.name, message.from, message.kind];
    lines.push(head.join(' ') + ' ' + [answeredBy, message.since, core].join(' '));
    for (const field of message.fields)
      lines.push('field ' + field.type + ' ' + field.name + ' ' + field.unit);
  }
  return lines;
}

/** Two lower-case hexadecimal digits; written out because the two runtimes print numbers differently. */
function hexByte(byte: number): string {
  return HEX.charAt(byte >>> 4) + HEX.charAt(byte & 15);
}

const HEX = '0123456789abcdef';
const LINE_FEED = 10;
