/** Bottom of the sheet: the rule, how to check the record behind it, and what stands above this tool. */
import type { SheetView } from '../views/sheet-view';
import { shortForm } from '../views/seal-view';
import { MISSING } from './printable';
import { CONTENT_WIDTH, INK, leading, MARGIN, PAGE, SMALL, type Paper } from './paper';

export const FOOT_HEIGHT = 8 * leading(SMALL) + 8;
export const MISSING_NOTE = `${MISSING} stands for a character that this sheet’s type lacks; the record has it.`;
/** Enough of the hash to compare by eye. */
export const SHORT_HASH = 12;

export function drawFoot(paper: Paper, view: SheetView, y: number): void {
  const style = { size: SMALL };
  paper.stroke(
    [
      [MARGIN, y],
      [MARGIN + CONTENT_WIDTH, y],
    ],
    { ink: INK.accent, width: 0.8 },
  );
  y = paper.paragraph(`Rule: ${view.rule}`, MARGIN, y + 4, CONTENT_WIDTH, { ...style, most: 2 });
  const { writer, sequence, hash } = view.head;
  paper.line(`Record ${hash.slice(0, SHORT_HASH)}: entry ${sequence} of log ${writer}`, MARGIN, y, 235, {
    ...style,
    bold: true,
  });
  const check = `How to check: swathplane verify --head ${sequence}:${hash.slice(0, 16)}`;
  paper.line(check, MARGIN + 240, y, CONTENT_WIDTH - 240, {
    ...style,
    bold: true,
    align: 'right',
  });
  y += leading(SMALL);
  paper.line(
    `Check number ${shortForm(hash)}; full hash (SHA-256): ${hash}`,
    MARGIN,
    y,
    CONTENT_WIDTH,
    style,
  );
  y += leading(SMALL);
  paper.line(
    'U is the expanded uncertainty, coverage factor k = 2. Left and right are as seated. Lengths in mm.',
    MARGIN,
    y,
    CONTENT_WIDTH,
    style,
  );
  y += leading(SMALL);
  y = paper.paragraph(view.cautions.at(-1) ?? '', MARGIN, y, CONTENT_WIDTH, {
    ...style,
    bold: true,
    most: 2,
  });
  if (paper.hasMissing)
    paper.line(MISSING_NOTE, MARGIN, PAGE.height - 26 - leading(SMALL), CONTENT_WIDTH, {
      ...style,
      ink: INK.grey,
    });
}
