/**
 * What a sheet can print. The standard fonts of PDF have the characters of WinAnsiEncoding (ISO 32000-1, annex D); a text
 * with other letters of Europe is set in embedded type as a whole.
 */

/** Printed in place of a character that neither has, so that the gap is seen. */
export const MISSING = '¿';

/** Signs of our own texts that the encoding lacks, said with what it has. */
const SPELLED: Readonly<Record<string, string>> = {
  '−': '–',
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
const STANDARD = /^[ -~¡-¬®-ÿƒ–—‘’‚“”„†‡•…€‰‹›ˆ™Œœ˜ŠšŸŽž]*$/;

/** Latin with all its marks, Greek and Cyrillic: read from left to right, letter by letter. */
const EMBEDDED = /^(?=\p{L})[\u0100-\u024f\u0370-\u04ff\u1e00-\u1ef9\u1f00-\u1fff]$/u;

/** The text as the sheet prints it: one line, composed letters, `MISSING` for what no font has. */
export function printable(text: string): string {
  if (PLAIN.test(text)) return text;
  const composed = text.normalize('NFC').replace(/\s+/g, ' ').trim();
  return Array.from(composed, (c) => SPELLED[c] ?? (isPrintable(c) ? c : MISSING)).join('');
}

/** True for a printable text that the standard fonts cannot set. */
export function needsEmbeddedType(text: string): boolean {
  return !STANDARD.test(text);
}

function isPrintable(character: string): boolean {
  return STANDARD.test(character) || EMBEDDED.test(character);
}
