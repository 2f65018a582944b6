/** The delivery sheet as PDF: one page for the customer. It draws what the view says and computes nothing of the job. */
import type { SheetView } from '../views/sheet-view';
import { RESULT_WORDS } from '../views/words';
import { drawFoot, FOOT_HEIGHT } from './foot';
import { drawHead, drawMarks, OPEN_MARK, sheetTitle, SIMULATED_MARK } from './head';
import { drawMeasures, HEAD_HEIGHT, ROW_HEIGHT, type MeasurePair } from './measure-table';
import { CONTENT_WIDTH, INK, leading, MARGIN, PAGE, Paper, SMALL } from './paper';
import { drawResult } from './result-box';
import { drawSideView, SIDE_HEIGHT } from './side-view';
import { drawTipMap, type NumberedTip } from './tip-map';
import {
  fixtureLines,
  lastReadText,
  preparationLines,
  readingsText,
  tighteningText,
  turnLines,
} from './work';

const TOP = 26;
const GAP = 8;
const FOOT_TOP = PAGE.height - 26 - FOOT_HEIGHT;
const TITLE = 14;
const WORK_LINES = 5;
const WORK_HEIGHT = TITLE + WORK_LINES * leading(SMALL);
const MOST_MEASURES = 10;
const MAP_WIDTH = 320;

/** What page 1 had no room for. */
export interface LeftOver {
  readonly measures: readonly MeasurePair[];
}

/** Which of the two papers a page belongs to. */
export type Kind = 'delivery sheet' | 'full record';

/** Pure: the same view gives the same bytes. One page A4 portrait, tagged, in English; what it cuts the full record has. */
export function sheetPdf(view: SheetView): Promise<Uint8Array> {
  const paper = sheetPaper(view, 'delivery sheet');
  drawFirstPage(paper, view, 'delivery sheet');
  return paper.bytes();
}

export function sheetPaper(view: SheetView, kind: Kind): Paper {
  return new Paper({
    title: `${sheetTitle(view, kind)}, job ${view.job}${view.simulated ? ` (${SIMULATED_MARK})` : ''}`,
    author: `${view.technician}, with Swathplane`,
    subject: view.decision === undefined ? OPEN_MARK : `result: ${RESULT_WORDS[view.decision]}`,
    keywords: `record ${view.head.hash}`,
    date: new Date(view.closedAt ?? view.openedAt),
  });
}

/** Tips of the last readings with the numbers that map and table give them. */
export function numberedTips(view: SheetView): NumberedTip[] {
  return (view.stages.at(-1)?.tips ?? []).map((tip, i) => ({ ...tip, number: i + 1 }));
}

export function drawFirstPage(paper: Paper, view: SheetView, kind: Kind): LeftOver {
  paper.addPage();
  if (view.decision === undefined) paper.overprint('NOT A FINAL SHEET', 78);
  const headEnd = drawHead(paper, view, kind, drawMarks(paper, view, TOP));
  const resultEnd = drawResult(paper, view, headEnd + 2);
  const pairs = measurePairs(view);
  const shown = pairs.slice(0, MOST_MEASURES);
  const note = pairs.length > shown.length ? leading(SMALL) + 3 : 0;
  const workTop = FOOT_TOP - WORK_HEIGHT - GAP;
  const tableTop = workTop - GAP - HEAD_HEIGHT - shown.length * ROW_HEIGHT - note;
  drawPictures(paper, view, numberedTips(view), resultEnd + GAP, tableTop - GAP - 2);
  if (shown.length > 0) {
    const tableEnd = drawMeasures(paper, shown, lastReadText(view), tableTop);
    if (note > 0)
      paper.line(
        `${pairs.length - shown.length} more measures in the full record`,
        MARGIN + 3,
        tableEnd + 3,
        CONTENT_WIDTH,
        { size: SMALL, bold: true },
      );
  }
  drawTurns(paper, view, workTop);
  drawFoot(paper, view, FOOT_TOP);
  return { measures: pairs.slice(shown.length) };
}

function measurePairs(view: SheetView): MeasurePair[] {
  const came = view.stages.length > 1 ? view.stages[0]?.measures : undefined;
  return (view.stages.at(-1)?.measures ?? []).map((leaves, i) => ({ came: came?.[i], leaves }));
}

/** Map on the left; on the right the side view and below it the instrument. */
function drawPictures(
  paper: Paper,
  view: SheetView,
  tips: readonly NumberedTip[],
  top: number,
  bottom: number,
): void {
  const lastRead = lastReadText(view);
  title(paper, `Deck from above, ${lastRead}`, MARGIN, top, MAP_WIDTH);
  drawTipMap(paper, view, tips, {
    x: MARGIN,
    y: top + TITLE,
    width: MAP_WIDTH,
    height: bottom - top - TITLE,
  });
  const x = MARGIN + MAP_WIDTH + 14;
  const width = CONTENT_WIDTH - MAP_WIDTH - 14;
  paper.stroke(
    [
      [x - 7, top],
      [x - 7, bottom],
    ],
    { ink: INK.pale, width: 0.4 },
  );
  title(paper, 'Deck from the left', x, top, width);
  drawSideView(paper, view, { x, y: top + TITLE, width, height: SIDE_HEIGHT });
  const instrumentTop = top + TITLE + SIDE_HEIGHT + GAP;
  title(paper, 'Instrument, readings, preparation', x, instrumentTop, width);
  const room = Math.floor((bottom - instrumentTop - TITLE) / leading(SMALL));
  drawLines(paper, instrumentLines(view), { x, y: instrumentTop + TITLE, width }, room);
}

function drawTurns(paper: Paper, view: SheetView, y: number): void {
  const width = (CONTENT_WIDTH - 12) / 2;
  title(paper, 'What was turned', MARGIN, y, 110);
  paper.line(tighteningText(view), MARGIN + 110, y + 1.2, CONTENT_WIDTH - 110, { size: 8, bold: true });
  const turns = turnLines(view);
  if (turns.length <= WORK_LINES) {
    drawLines(paper, turns, { x: MARGIN, y: y + TITLE, width: CONTENT_WIDTH }, WORK_LINES);
    return;
  }
  const half = Math.ceil(turns.length / 2);
  const columns = [turns.slice(0, half), turns.slice(half)];
  columns.forEach((lines, i) =>
    drawLines(paper, lines, { x: MARGIN + i * (width + 12), y: y + TITLE, width }, WORK_LINES),
  );
}

function instrumentLines(view: SheetView): string[] {
  return [
    ...view.fixtures.flatMap((f) => fixtureLines(f)),
    ...(view.bay?.sentences.map((s) => `Bay: ${s}`) ?? []),
    readingsText(view),
    ...preparationLines(view),
  ];
}

/** Draws as many as there is room for, and says how many had to be left out. */
function drawLines(
  paper: Paper,
  lines: readonly string[],
  at: { x: number; y: number; width: number },
  room: number,
): void {
  let used = 0;
  for (const [i, text] of lines.entries()) {
    const y = at.y + used * leading(SMALL);
    const count = paper.lines(text, at.width, SMALL).length;
    const reserve = i < lines.length - 1 ? 1 : 0;
    if (used + count + reserve > room) {
      paper.line(`${lines.length - i} more in the full record`, at.x, y, at.width, {
        size: SMALL,
        bold: true,
      });
      return;
    }
    paper.paragraph(text, at.x, y, at.width, { size: SMALL });
    used += count;
  }
}

function title(paper: Paper, text: string, x: number, y: number, width: number): void {
  paper.line(text, x, y, width, { size: 9.5, bold: true, ink: INK.accent }, 'H3');
}
