/**
 * Text as UTF-8 bytes (RFC 3629). A Lua string is made of bytes and a JavaScript string of UTF-16 units, so the two
 * runtimes differ in what they need to do; both accept and refuse the same bytes.
 */

/** In Lua this letter is two bytes long. */
const STRINGS_ARE_UTF8 = '\u00e9'.length === 2;

/** The UTF-8 bytes of `text`, or undefined when it is no text (half a surrogate pair, broken UTF-8). */
export function textToBytes(text: string): number[] | undefined {
  const units: number[] = [];
  let isAscii = true;
  for (let i = 0; i < text.length; i++) {
    const unit = text.charCodeAt(i);
    if (unit >= 0x80) isAscii = false;
    units.push(unit);
  }
  if (isAscii) return units;
  if (STRINGS_ARE_UTF8) return isUtf8(units) ? units : undefined;

  const bytes: number[] = [];
  let at = 0;
  while (at < units.length) {
    const unit = units[at];
    let point = unit;
    if (unit >= 0xd800 && unit <= 0xdfff) {
      at++;
      if (unit > 0xdbff || at === units.length || units[at] < 0xdc00 || units[at] > 0xdfff) return undefined;
      point = 0x10000 + (unit - 0xd800) * 0x400 + (units[at] - 0xdc00);
    }
    pushCodePoint(bytes, point);
    at++;
  }
  return bytes;
}

/** The text whose UTF-8 bytes are `bytes`, or undefined when they are not UTF-8. */
export function bytesToText(bytes: readonly number[]): string | undefined {
  if (!isUtf8(bytes)) return undefined;
  if (STRINGS_ARE_UTF8) return String.fromCharCode(...bytes);

  const units: number[] = [];
  let at = 0;
  while (at < bytes.length) {
    const point = codePointAt(bytes, at);
    if (point >= 0x10000) {
      units.push(0xd800 + ((point - 0x10000) >>> 10));
      units.push(0xdc00 + (point & 0x3ff));
    } else {
      units.push(point);
    }
    at += lengthOf(bytes[at]);
  }
  return String.fromCharCode(...units);
}

function isUtf8(bytes: readonly number[]): boolean {
  let at = 0;
  while (at < bytes.length) {
    const length = lengthOf(bytes[at]);
    if (length === 0 || at + length > bytes.length) return false;
    for (let i = at + 1; i < at + length; i++) if (bytes[i] < 0x80 || bytes[i] > 0xbf) return false;
    const point = codePointAt(bytes, at);
    if (point < SMALLEST[length - 1] || point > 0x10ffff || (point >= 0xd800 && point <= 0xdfff))
      return false;
    at += length;
  }
  return true;
}

/** The smallest code point that may take 1, 2, 3 and 4 bytes. */
const SMALLEST: readonly number[] = [0, 0x80, 0x800, 0x10000];

/** How many bytes a character takes that begins with `lead`; 0 when none begins so. */
function lengthOf(lead: number): number {
  if (lead < 0x80) return 1;
  if (lead < 0xc0) return 0;
  if (lead < 0xe0) return 2;
  if (lead < 0xf0) return 3;
  return lead < 0xf8 ? 4 : 0;
}

function codePointAt(bytes: readonly number[], at: number): number {
  const length = lengthOf(bytes[at]);
  if (length === 1) return bytes[at];
  let point = bytes[at] & (length === 2 ? 0x1f : length === 3 ? 0x0f : 0x07);
  for (let i = at + 1; i < at + length; i++) point = point * 64 + (bytes[i] & 0x3f);
  return point;
}

function pushCodePoint(bytes: number[], point: number): void {
  if (point < 0x80) {
    bytes.push(point);
  } else if (point < 0x800) {
    bytes.push(0xc0 + (point >>> 6));
    bytes.push(0x80 + (point & 0x3f));
  } else if (point < 0x10000) {
    bytes.push(0xe0 + (point >>> 12));
    bytes.push(0x80 + ((point >>> 6) & 0x3f));
    bytes.push(0x80 + (point & 0x3f));
  } else {
    bytes.push(0xf0 + (point >>> 18));
    bytes.push(0x80 + ((point >>> 12) & 0x3f));
    bytes.push(0x80 + ((point >>> 6) & 0x3f));
    bytes.push(0x80 + (point & 0x3f));
  }
}
