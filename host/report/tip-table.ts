/** Every tip before and after, the measures that page 1 had no room for, swath profile and skirt gaps: pages of the full record. */
import { meanTipHeightMm } from '../views/deck-drawing';
import type { SheetView } from '../views/sheet-view';
import type { TipRow } from '../views/stage-view';
import { headingText, withUncertainty } from '../views/words';
import { BOTTOM, type Flow } from './flow';
import type { MeasurePair } from './measure-table';
import { drawMeasures, HEAD_HEIGHT, ROW_HEIGHT } from './measure-table';
import { CONTENT_WIDTH, MARGIN, type Paper } from './paper';
import { drawSwath, skirtLines, SWATH_HEIGHT } from './swath-drawing';
import { drawBar, fullBarMm, type NumberedTip } from './tip-map';
import { lastReadText } from './work';

const TIP_HEAD = 16;
const TIP_ROW = 20;
const SIZE = 8;

export function drawRestOfMeasures(flow: Flow, view: SheetView, pairs: readonly MeasurePair[]): void {
  flow.title('More measures', HEAD_HEIGHT + ROW_HEIGHT);
  let rest = pairs;
  while (rest.length > 0) {
    flow.need(HEAD_HEIGHT + ROW_HEIGHT);
    const room = Math.floor((BOTTOM - flow.y - HEAD_HEIGHT) / ROW_HEIGHT);
    flow.y = drawMeasures(flow.paper, rest.slice(0, room), lastReadText(view), flow.y) + 4;
    rest = rest.slice(room);
  }
}

export function drawTips(flow: Flow, view: SheetView, tips: readonly NumberedTip[]): void {
  flow.title(
    'Blade tips, height above the ground of the wheels ± U (mean of both blade ends)',
    TIP_HEAD + TIP_ROW,
  );
  let rest = tips;
  while (rest.length > 0) {
    flow.need(TIP_HEAD + TIP_ROW);
    const room = Math.floor((BOTTOM - flow.y - TIP_HEAD) / TIP_ROW);
    drawTipTable(flow.paper, view, tips, rest.slice(0, room), flow.y);
    flow.y += TIP_HEAD + Math.min(room, rest.length) * TIP_ROW;
    rest = rest.slice(room);
  }
}

/** What the pose alone says of the cut and of the air: swath profile and skirt gaps. */
export function drawSwathAndSkirt(flow: Flow, view: SheetView): void {
  const last = view.stages.at(-1);
  if (last?.swath !== undefined) {
    flow.title('Swath profile: what a pass would leave, by geometry alone', SWATH_HEIGHT);
    drawSwath(flow.paper, view, { x: MARGIN, y: flow.y, width: CONTENT_WIDTH, height: SWATH_HEIGHT });
    flow.y += SWATH_HEIGHT;
  }
  if (last?.skirtGap !== undefined)
    flow.pairs('Gap under the skirt, edge to ground, from the deck’s plane', skirtLines(last.skirtGap));
}

function drawTipTable(
  paper: Paper,
  view: SheetView,
  all: readonly NumberedTip[],
  rows: readonly NumberedTip[],
  y: number,
): void {
  const came = view.stages.length > 1 ? view.stages[0]?.tips : undefined;
  const mean = meanTipHeightMm(all) ?? 0;
  const full = fullBarMm(all);
  const cell = (text: string, at: number, width: number, top: number, tag: 'TH' | 'TD', bold = false) => {
    paper.line(text, MARGIN + at, top + 3, width, { size: SIZE, bold: bold || tag === 'TH' }, tag);
  };
  paper.group('Table', () => {
    paper.group('TR', () => {
      cell('Tip', 3, 225, y, 'TH');
      if (came !== undefined) cell('as it came', 232, 90, y, 'TH');
      cell(lastReadText(view), 326, 104, y, 'TH');
      cell(`half a frame = ${full} mm`, 434, 86, y, 'TH');
    });
    rows.forEach((tip, i) => {
      const top = y + TIP_HEAD + i * TIP_ROW;
      paper.group('TR', () => {
        cell(
          `${tip.number}. ${tip.spindle} blade, pointing ${headingText(tip.headingDeg)}`,
          3,
          225,
          top,
          'TD',
        );
        const before = came?.find((t) => isSameTip(t, tip));
        if (came !== undefined)
          cell(
            before === undefined ? 'not read' : withUncertainty(before.heightMm, before.expandedMm),
            232,
            90,
            top,
            'TD',
          );
        cell(withUncertainty(tip.heightMm, tip.expandedMm), 326, 104, top, 'TD', true);
      });
      drawBar(paper, MARGIN + 470, top + TIP_ROW / 2 - 1, (tip.heightMm - mean) / full);
    });
  });
}

function isSameTip(a: TipRow, b: TipRow): boolean {
  return a.spindle === b.spindle && Math.abs(a.headingDeg - b.headingDeg) < 1e-9;
}
