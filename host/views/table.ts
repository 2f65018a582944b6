/** A table of texts, as every face shows it. */
export interface Table {
  readonly title: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

/** A number with so many significant digits, without an exponent where it can be read without one. */
export function significant(value: number | undefined, digits = 5): string {
  if (value === undefined) return '';
  if (!Number.isFinite(value)) return '-';
  const size = Math.abs(value);
  if (size !== 0 && (size < 1e-5 || size >= 1e9)) return value.toExponential(digits - 1);
  const decimals = size === 0 ? 0 : Math.max(0, digits - 1 - Math.floor(Math.log10(size)));
  return value.toFixed(Math.min(12, decimals));
}

/** A number as it stands in a table. */
const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;

/**
 * What a spreadsheet would take for a formula (it begins with =, +, -, @, a tab or a carriage return) is led by an
 * apostrophe, which makes a text of it; numbers stay numbers. After OWASP, "CSV Injection".
 */
function harmless(text: string): string {
  return /^[=+\-@\t\r]/.test(text) && !NUMBER.test(text) ? `'${text}` : text;
}

/** A table as separated text after RFC 4180, with no cell that a spreadsheet would compute. */
export function tableCsv({ head, rows }: Pick<Table, 'head' | 'rows'>): string {
  const field = (raw: string) => quoted(harmless(raw));
  const quoted = (text: string) => (/[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  return [head, ...rows].map((row) => `${row.map(field).join(',')}\r\n`).join('');
}
