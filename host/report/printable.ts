/** What the standard fonts of PDF can print: the characters of WinAnsiEncoding (ISO 32000-1, annex D). */

/** Printed in place of a character that the fonts lack, so that the gap is seen. */
export const MISSING = '¿';

/** Signs of our own texts that the encoding lacks, said with what it has. */
const SPELLED: Readonly<Record<string, string>> = {
  '−': '–',
  Σ: 'sum',
  '≤': '<=',
  '≥': '>=',
  '≈': '~',
  '→': '->',
  '\u00a0': ' ',
  '\u202f': ' ',
  '\u2011': '-',
};

/** Words of ASCII with one space between: they print as they stand. */
const PLAIN = /^[!-~]+(?: [!-~]+)*$/;

/** Beyond Latin-1 the encoding has these. */
const BEYOND_LATIN_1 = 'ƒ–—‘’‚“”„†‡•…€‰‹›ˆ™Œœ˜ŠšŸŽž';

/** The text as the sheet prints it: one line, composed letters, `MISSING` for what the fonts lack. */
export function printable(text: string): string {
  if (PLAIN.test(text)) return text;
  const composed = text.normalize('NFC').replace(/\s+/g, ' ').trim();
  return Array.from(composed, (c) => SPELLED[c] ?? (isPrintable(c) ? c : MISSING)).join('');
}

function isPrintable(character: string): boolean {
  const code = character.codePointAt(0) ?? 0;
  const latin1 = (code >= 0x20 && code <= 0x7e) || (code >= 0xa1 && code <= 0xff && code !== 0xad);
  return latin1 || BEYOND_LATIN_1.includes(character);
}
