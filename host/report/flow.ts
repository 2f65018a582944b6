/** Sections one under the other, over as many pages as they take. */
import type { Table } from '../views/table';
import { CONTENT_WIDTH, INK, leading, MARGIN, PAGE, SMALL, type Paper } from './paper';
import { columnsOf, drawTable, type TableStyle } from './table';

export const BOTTOM = PAGE.height - 40;
const TOP = 26;
const SIZE = 8;
const HALF = (CONTENT_WIDTH - 16) / 2;
const TABLE: TableStyle = { size: SIZE, row: 11, pad: 9 };
const DENSE: TableStyle = { size: SMALL, row: 9.6, pad: 6 };

export class Flow {
  y = 0;

  /** `head` draws what stands at the top of every page from there on, and returns the y below. */
  constructor(
    readonly paper: Paper,
    private readonly head: (y: number) => number,
  ) {}

  begin(): void {
    this.paper.addPage();
    this.y = this.head(TOP);
  }

  /** Makes sure that so much height is left. */
  need(height: number): void {
    if (this.y + height > BOTTOM) this.begin();
  }

  part(text: string): void {
    this.need(60);
    this.paper.line(text, MARGIN, this.y + 8, CONTENT_WIDTH, { size: 12, bold: true, ink: INK.accent }, 'H2');
    this.y += 24;
    this.paper.stroke(
      [
        [MARGIN, this.y],
        [MARGIN + CONTENT_WIDTH, this.y],
      ],
      { ink: INK.accent, width: 0.6 },
    );
  }

  title(text: string, following: number): void {
    this.need(22 + following);
    this.paper.line(
      text,
      MARGIN,
      this.y + 5,
      CONTENT_WIDTH,
      { size: 9.5, bold: true, ink: INK.accent },
      'H3',
    );
    this.y += 20;
  }

  /** One under the other. Nothing when there are no items. */
  list(title: string, items: readonly string[]): void {
    if (items.length === 0) return;
    this.title(title, leading(SIZE));
    this.lines(items, SIZE);
  }

  lines(items: readonly string[], size: number): void {
    for (const item of items) {
      const lines = this.paper.lines(item, CONTENT_WIDTH, size);
      const height = lines.length * leading(size);
      // A paragraph is one element; only one that no page holds falls into lines.
      if (height <= BOTTOM - TOP - 60) {
        this.need(height);
        this.y = this.paper.paragraph(item, MARGIN, this.y, CONTENT_WIDTH, { size }) + 1;
      } else
        for (const line of lines) {
          this.need(leading(size));
          this.paper.line(line, MARGIN, this.y, CONTENT_WIDTH, { size });
          this.y += leading(size);
        }
    }
  }

  /** Two columns, across and then down, for items that are short against a page. */
  pairs(title: string, items: readonly string[]): void {
    if (items.length === 0) return;
    this.title(title, leading(SIZE));
    for (let i = 0; i < items.length; i += 2) {
      const row = items.slice(i, i + 2);
      const height =
        Math.max(...row.map((text) => this.paper.lines(text, HALF, SIZE).length)) * leading(SIZE) + 1.5;
      this.need(height);
      row.forEach((text, column) =>
        this.paper.paragraph(text, MARGIN + column * (HALF + 16), this.y, HALF, { size: SIZE }),
      );
      this.y += height;
    }
  }

  /** `dense`: the smallest type, for many rows. Nothing when there are no rows. */
  table(table: Table, how: 'dense' | 'plain' = 'plain'): void {
    if (table.rows.length === 0) return;
    const style = how === 'dense' ? DENSE : TABLE;
    // A plain table stays on one page where a page can hold it; a dense one fills what there is.
    const whole = (table.rows.length + 1) * style.row;
    this.title(table.title, how === 'plain' && whole < BOTTOM - TOP - 60 ? whole : 3 * style.row);
    const columns = columnsOf(this.paper, table, style);
    let rest = table.rows;
    while (rest.length > 0) {
      this.need(2 * style.row);
      const room = Math.max(1, Math.floor((BOTTOM - this.y) / style.row) - 1);
      this.y = drawTable(this.paper, table.head, rest.slice(0, room), columns, this.y + 1.5, style);
      rest = rest.slice(room);
    }
    this.y += 3;
  }
}
