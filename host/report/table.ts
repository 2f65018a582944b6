/** A table of texts on paper: columns as wide as their widest text, head repeated on every page by whoever draws it again. */
import type { Table } from '../views/table';
import { CONTENT_WIDTH, INK, MARGIN, type Paper } from './paper';

export interface Column {
  readonly x: number;
  readonly width: number;
  readonly align: 'left' | 'right';
}

/** Size of the type; from row to row; between columns. */
export interface TableStyle {
  readonly size: number;
  readonly row: number;
  readonly pad: number;
}

/** Every column as wide as its widest text where there is room; what is short gives to the last. */
export function columnsOf(
  paper: Paper,
  { head, rows }: Pick<Table, 'head' | 'rows'>,
  style: TableStyle,
): Column[] {
  const widest = head.map(
    (title, i) =>
      style.pad +
      Math.max(
        paper.width(title, style.size, true),
        ...rows.map((r) => paper.width(r[i] ?? '', style.size, false)),
      ),
  );
  const scale = Math.min(1, CONTENT_WIDTH / widest.reduce((a, b) => a + b, 0));
  let x = MARGIN;
  return widest.map((wide, i) => {
    const width = wide * scale;
    const isNumber = rows.every((r) => /^[-–−]?[\d.]*( %)?$/.test(r[i] ?? ''));
    const column = {
      x,
      width: width - style.pad / 2,
      align: isNumber ? ('right' as const) : ('left' as const),
    };
    x += width;
    return column;
  });
}

/** Draws head and rows from `top` and returns the y below. `bold` says which rows stand out. */
export function drawTable(
  paper: Paper,
  head: readonly string[],
  rows: readonly (readonly string[])[],
  columns: readonly Column[],
  top: number,
  style: TableStyle,
): number {
  let y = top;
  paper.group('Table', () => {
    [head, ...rows].forEach((row, k) => {
      if (k === 0) paper.box(MARGIN, y - 1.5, CONTENT_WIDTH, style.row, { fill: INK.tint, bare: true });
      paper.group('TR', () =>
        columns.forEach(({ x, width, align }, i) =>
          paper.line(
            row[i] ?? '',
            x + 2,
            y + 1,
            width - 2,
            { size: style.size, bold: k === 0, align },
            k === 0 ? 'TH' : 'TD',
          ),
        ),
      );
      y += style.row;
    });
  });
  return y;
}
