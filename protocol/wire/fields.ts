/** How the value of one field becomes bytes, and back. */
import type { Field } from './messages';
import { bytesToText, textToBytes } from './text';

export type Value = number | string | readonly number[];

/**
 * Appends the bytes of `value` to `out`. Returns false when the value does not fit the field: no integer, out of range,
 * too long, or no text. `out` may then hold part of it.
 */
export function writeField(out: number[], field: Field, value: Value): boolean {
  if (field.type === 'text') return writeText(out, value as string);
  if (field.type === 'i32list') return writeList(out, value as readonly number[]);
  return writeInteger(out, INTEGERS[field.type], value as number);
}

/** Reads `count` plain bytes one field after the other. After a read that failed, `failed` is true for good. */
export interface FieldReader {
  read(field: Field): Value;
  failed(): boolean;
}

export function createFieldReader(plain: readonly number[], start: number, end: number): FieldReader {
  let at = start;
  let failed = false;

  function readInteger(layout: IntegerLayout): number {
    if (at + layout.size > end) {
      failed = true;
      return 0;
    }
    let value = 0;
    for (let i = at + layout.size - 1; i >= at; i--) value = value * 256 + plain[i];
    at += layout.size;
    return value > layout.high ? value - layout.wrap : value;
  }

  function readText(): string {
    const length = readInteger(INTEGERS.u8);
    if (at + length > end) failed = true;
    const bytes: number[] = [];
    for (let i = at; i < at + length && !failed; i++) bytes.push(plain[i]);
    at += length;
    const text = failed ? undefined : bytesToText(bytes);
    if (text === undefined) failed = true;
    return text ?? '';
  }

  function readList(): number[] {
    const count = readInteger(INTEGERS.u8);
    const values: number[] = [];
    for (let i = 0; i < count && !failed; i++) values.push(readInteger(INTEGERS.i32));
    return values;
  }

  return {
    read: (field) => {
      if (field.type === 'text') return readText();
      if (field.type === 'i32list') return readList();
      return readInteger(INTEGERS[field.type]);
    },
    failed: () => failed,
  };
}

interface IntegerLayout {
  /** In bytes, least significant first. */
  readonly size: number;
  readonly low: number;
  readonly high: number;
  /** Two's complement: a negative value is sent as value + wrap. */
  readonly wrap: number;
}

const INTEGERS = {
  u8: { size: 1, low: 0, high: 255, wrap: 256 },
  u16: { size: 2, low: 0, high: 65535, wrap: 65536 },
  u32: { size: 4, low: 0, high: 4294967295, wrap: 4294967296 },
  i16: { size: 2, low: -32768, high: 32767, wrap: 65536 },
  i32: { size: 4, low: -2147483648, high: 2147483647, wrap: 4294967296 },
} as const satisfies Record<string, IntegerLayout>;

function writeInteger(out: number[], layout: IntegerLayout, value: number): boolean {
  // The negated form also refuses a value that is not a number.
  if (!(value >= layout.low && value <= layout.high) || Math.floor(value) !== value) return false;
  for (let i = 0; i < layout.size; i++) out.push((value >>> (8 * i)) & 0xff);
  return true;
}

function writeText(out: number[], text: string): boolean {
  const bytes = textToBytes(text);
  if (bytes === undefined || bytes.length > 255) return false;
  out.push(bytes.length);
  for (const byte of bytes) out.push(byte);
  return true;
}

function writeList(out: number[], values: readonly number[]): boolean {
  if (values.length > 255) return false;
  out.push(values.length);
  for (const value of values) if (!writeInteger(out, INTEGERS.i32, value)) return false;
  return true;
}
