/** The in-house calibration record as PDF. It draws what the view says and computes nothing. */
import type { CalibrationView } from '../views/calibration-view';
import { CONTENT_WIDTH, INK, leading, MARGIN, PAGE, Paper, SMALL } from './paper';
import { columnsOf, drawTable } from './table';

const TOP = 30;
const BOTTOM = PAGE.height - 44;
const SIZE = 8.5;
const ROW = 11.8;
const STYLE = { size: SIZE, row: ROW, pad: 8 };

/** Pure: the same view gives the same bytes. A4 portrait, tagged, in English. */
export function calibrationPdf(view: CalibrationView): Promise<Uint8Array> {
  const paper = new Paper({
    title: `${view.title}${view.simulated ? ' (simulated)' : ''}`,
    author: 'Swathplane',
    subject: view.notice,
    keywords: `calibration ${view.number}, ${view.fixtureId}`,
    date: new Date(`${view.on}T00:00:00Z`),
  });
  let y = BOTTOM;
  const page = () => {
    paper.addPage();
    if (view.simulated) paper.overprint('SIMULATED', 96);
    paper.line(
      view.title,
      MARGIN,
      TOP,
      CONTENT_WIDTH - 120,
      { size: 14, bold: true, ink: INK.accent },
      paper.pages === 1 ? 'H1' : 'P',
    );
    y = paper.paragraph(view.notice, MARGIN, TOP + 22, CONTENT_WIDTH, { size: 9, bold: true }) + 6;
    paper.stroke(
      [
        [MARGIN, y],
        [MARGIN + CONTENT_WIDTH, y],
      ],
      { ink: INK.accent, width: 0.8 },
    );
    y += 6;
  };
  const need = (height: number) => {
    if (y + height > BOTTOM) page();
  };
  const paragraph = (text: string, size: number) => {
    need(paper.lines(text, CONTENT_WIDTH, size).length * leading(size) + 2);
    y = paper.paragraph(text, MARGIN, y, CONTENT_WIDTH, { size }) + 2;
  };
  page();
  for (const fact of view.facts) paragraph(fact, 9);
  for (const table of view.tables) {
    const titleHeight = paper.lines(table.title, CONTENT_WIDTH, 9.5, true).length * leading(9.5);
    need(titleHeight + 4 * ROW);
    y =
      paper.paragraph(
        table.title,
        MARGIN,
        y + 8,
        CONTENT_WIDTH,
        { size: 9.5, bold: true, ink: INK.accent },
        'H3',
      ) + 3;
    const columns = columnsOf(paper, table, STYLE);
    let rest = table.rows;
    while (rest.length > 0) {
      need(2 * ROW);
      const room = Math.max(1, Math.floor((BOTTOM - y) / ROW) - 1);
      y = drawTable(paper, table.head, rest.slice(0, room), columns, y, STYLE);
      rest = rest.slice(room);
      if (rest.length > 0) page();
    }
  }
  y += 8;
  for (const text of view.method) paragraph(text, SMALL);
  need(34);
  drawSignature(paper, y + 2);
  return paper.bytes();
}

function drawSignature(paper: Paper, y: number): void {
  for (const [i, what] of ['calibrated by', 'looked over by'].entries()) {
    const x = MARGIN + i * 270;
    paper.stroke(
      [
        [x, y + 14],
        [x + 230, y + 14],
      ],
      { width: 0.5 },
    );
    paper.line(`${what}, date, signature`, x, y + 17, 230, { size: SMALL });
  }
}
