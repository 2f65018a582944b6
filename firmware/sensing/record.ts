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

/** Number and length. */
export const RECORD_HEAD_BYTES = 5;
/** Bytes that a record needs beside its content. */
export const RECORD_OVERHEAD_BYTES = RECORD_HEAD_BYTES + 4;

export type Found =
  | { readonly kind: 'record'; readonly number: number; readonly content: number[] }
  | { readonly kind: 'none' }
  | { readonly kind: 'unreachable' };

/** The number that stands where a record begins, whether or not it is one; undefined: unreachable. */
export function recordNumber(memory: Memory, address: number): number | undefined {
  const bytes = memory.read(address, 4);
  return bytes === undefined ? undefined : u32At(bytes, 0);
}

/** The record at `address`. */
export function readRecord(memory: Memory, address: number, checksum: Checksum): Found {
  const bytes = memory.read(address, RECORD_OVERHEAD_BYTES);
  if (bytes === undefined) return { kind: 'unreachable' };
  const length = bytes[4];
  if (length > 0) {
    const rest = memory.read(address + RECORD_OVERHEAD_BYTES, length);
    if (rest === undefined) return { kind: 'unreachable' };
    for (const byte of rest) bytes.push(byte);
  }

  const stored = u32At(bytes, RECORD_HEAD_BYTES + length);
  for (let i = 0; i < 4; i++) bytes.pop();
  if (checksum(bytes) !== stored) return { kind: 'none' };
  const content: number[] = [];
  for (let i = 0; i < length; i++) content.push(bytes[RECORD_HEAD_BYTES + i]);
  return { kind: 'record', number: u32At(bytes, 0), content };
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

/** Four bytes, the lowest first. */
export function u32At(bytes: readonly number[], at: number): number {
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
