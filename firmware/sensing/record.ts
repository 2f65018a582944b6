/**
 * A numbered record in the memory, believed only when its checksum agrees: number (4 bytes, little endian), length (1),
 * content, checksum over all of it (4). A write that power cut short leaves no valid record.
 */

/** What records lie in: the memory driver has this shape. */
export interface Memory {
  /** `count` bytes from `address`; undefined when the memory does not answer. */
  read(address: number, count: number): number[] | undefined;
  /** Stores in order. False when the memory stopped answering part way. */
  write(address: number, bytes: readonly number[]): boolean;
}

/** 0 to 2^32 - 1 over `bytes`. */
export type Checksum = (bytes: readonly number[]) => number;

/** Bytes that a record needs beside its content. */
export const RECORD_OVERHEAD_BYTES = 9;

export type Found =
  | { readonly kind: 'record'; readonly number: number; readonly content: number[] }
  | { readonly kind: 'none' }
  | { readonly kind: 'unreachable' };

/** The record at `address`. */
export function readRecord(memory: Memory, address: number, checksum: Checksum): Found {
  const head = memory.read(address, 5);
  if (head === undefined) return { kind: 'unreachable' };
  const rest = memory.read(address + 5, head[4] + 4);
  if (rest === undefined) return { kind: 'unreachable' };

  const content: number[] = [];
  for (let i = 0; i < head[4]; i++) {
    head.push(rest[i]);
    content.push(rest[i]);
  }
  if (checksum(head) !== u32At(rest, content.length)) return { kind: 'none' };
  return { kind: 'record', number: u32At(head, 0), content };
}

/** Writes a record of up to 255 bytes of content. True when it reads back as written. */
export function writeRecord(
  memory: Memory,
  address: number,
  checksum: Checksum,
  number: number,
  content: readonly number[],
): boolean {
  const bytes: number[] = [];
  pushU32(bytes, number);
  bytes.push(content.length);
  for (const byte of content) bytes.push(byte);
  pushU32(bytes, checksum(bytes));
  if (!memory.write(address, bytes)) return false;

  const kept = memory.read(address, bytes.length);
  if (kept === undefined) return false;
  for (let i = 0; i < bytes.length; i++) if (kept[i] !== bytes[i]) return false;
  return true;
}

function u32At(bytes: readonly number[], at: number): number {
  return bytes[at] + bytes[at + 1] * 256 + bytes[at + 2] * 65536 + bytes[at + 3] * 16777216;
}

function pushU32(bytes: number[], value: number): void {
  let rest = value;
  for (let i = 0; i < 4; i++) {
    const next = Math.floor(rest / 256);
    bytes.push(rest - next * 256);
    rest = next;
  }
}
