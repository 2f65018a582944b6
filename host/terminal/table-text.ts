/** Tables as lines of a terminal, numbers to the right. */
import type { Table } from '../views/table';

export function tableText({ title, head, rows }: Table): string[] {
  const all = [head, ...rows];
  const widths = head.map((_, i) => Math.max(...all.map((r) => (r[i] ?? '').length)));
  const isNumber = head.map((_, i) => i > 0 && rows.every((r) => /^([<-]? ?[\d.e+-]*|-)$/.test(r[i] ?? '')));
  const line = (row: readonly string[]) =>
    widths
      .map((w, i) => (isNumber[i] ? (row[i] ?? '').padStart(w) : (row[i] ?? '').padEnd(w)))
      .join('  ')
      .trimEnd();
  return [title, ...all.map((row) => `  ${line(row)}`)];
}

/** Bars of a terminal, the longest as long as `width` characters. */
export function barText(
  items: readonly { readonly name: string; readonly value: number }[],
  width = 40,
): string[] {
  const most = Math.max(...items.map((i) => i.value), 1e-300);
  const names = Math.max(...items.map((i) => i.name.length));
  return items.map(
    ({ name, value }) =>
      `  ${name.padEnd(names)}  ${'#'.repeat(Math.round((width * Math.max(0, value)) / most)).padEnd(width)}  ${value.toFixed(1)}`,
  );
}
