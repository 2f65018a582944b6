/**
 * Consistent Overhead Byte Stuffing (S. Cheshire and M. Baker, IEEE/ACM Transactions on Networking 7(2), 1999): rewrites
 * bytes so that none is 0, at a cost of one byte in 254. The delimiter 0 is not part of either form.
 */

/** The stuffed form of `bytes` (each 0 to 255): at least one byte, none of them 0. */
export function cobsEncode(bytes: readonly number[]): number[] {
  const stuffed: number[] = [0];
  let codeAt = 0;
  let code = 1;
  let left = bytes.length;
  for (const byte of bytes) {
    left--;
    if (byte !== 0) {
      stuffed.push(byte);
      code++;
      // A full block needs no successor when it ends the message.
      if (code < 255 || left === 0) continue;
    }
    stuffed[codeAt] = code;
    codeAt = stuffed.length;
    stuffed.push(0);
    code = 1;
  }
  stuffed[codeAt] = code;
  return stuffed;
}

/** The bytes whose stuffed form is `bytes`, or undefined when it is none: a 0 in it, a block cut short, or nothing. */
export function cobsDecode(bytes: readonly number[]): number[] | undefined {
  if (bytes.length === 0) return undefined;
  const plain: number[] = [];
  let at = 0;
  while (at < bytes.length) {
    const code = bytes[at];
    const end = at + code;
    if (code === 0 || end > bytes.length) return undefined;
    for (let i = at + 1; i < end; i++) {
      if (bytes[i] === 0) return undefined;
      plain.push(bytes[i]);
    }
    if (code < 255 && end < bytes.length) plain.push(0);
    at = end;
  }
  return plain;
}
