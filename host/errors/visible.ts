/**
 * A text with what cannot be seen made visible (`\u{1b}`): control characters, which a terminal would obey, and marks that
 * would turn the order of the text round. Line ends stay.
 */
export function visible(text: string): string {
  return text.replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu, (c) =>
    c === '\n' ? c : `\\u{${(c.codePointAt(0) ?? 0).toString(16)}}`,
  );
}
