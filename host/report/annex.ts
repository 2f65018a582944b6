/** From page 2 on, for the shop's file: every tip before and after, preparation, cautions, and whatever page 1 had to cut. */
import { faultLines } from '../views/fault-view';
import { headingText, withUncertainty } from '../views/words';
import { meanTipHeightMm } from '../views/deck-drawing';
import type { SheetView } from '../views/sheet-view';
import type { TipRow } from '../views/stage-view';
import { MISSING_NOTE } from './foot';
import { drawMarks } from './head';
import type { MeasurePair } from './measure-table';
import { drawMeasures, HEAD_HEIGHT, ROW_HEIGHT } from './measure-table';
import { CONTENT_WIDTH, INK, leading, MARGIN, PAGE, SMALL, type Paper } from './paper';
import { drawSwath, skirtLines, SWATH_HEIGHT } from './swath-drawing';
import { drawBar, fullBarMm, type NumberedTip } from './tip-map';
import { fixtureLines, labourLines, lastReadText, turnLines, withAllText } from './work';

/** What page 1 had no room for. */
export interface LeftOver {
  readonly measures: readonly MeasurePair[];
  readonly turns: boolean;
  readonly fixtures: boolean;
}

const BOTTOM = PAGE.height - 40;
const TIP_HEAD = 16;
const TIP_ROW = 20;
const SIZE = 8;
const HALF = (CONTENT_WIDTH - 16) / 2;

export function drawAnnex(paper: Paper, view: SheetView, tips: readonly NumberedTip[], left: LeftOver): void {
  const flow = new Flow(paper, view);
  flow.begin();
  flow.list(
    'Claim',
    view.claim.map(({ field, text }) => `${field}: ${text === '' ? 'not stated' : text}`),
  );
  if (left.measures.length > 0) drawRestOfMeasures(flow, left.measures);
  const faults = view.stages.at(-1)?.faults;
  if (faults !== undefined) flow.list('Parts at fault', faultLines(faults));
  if (faults !== undefined && view.decision !== 'pass')
    flow.list('What the readings leave open', faults.hidden);
  flow.list('Parts tested and replaced', view.parts);
  if (tips.length > 0) drawTips(flow, view, tips);
  drawPictures(flow, view);
  if (left.turns) flow.list('What was turned', turnLines(view));
  flow.list(
    'What was to be turned, and what was expected of it',
    view.stages.flatMap((s) => (s.turned.length === 0 ? [] : (s.turningLines ?? []))),
  );
  if (left.fixtures)
    flow.list(
      'Fixtures',
      view.fixtures.map((f) => fixtureLines(f).join(', ')),
    );
  flow.list('Bay', view.bay?.sentences ?? []);
  flow.pairs(
    'Preparation',
    view.prepared.map(
      (p, i) => `${i + 1}. ${p.text}: ${p.answer}${p.carried === true ? ' (carried over)' : ''}`,
    ),
  );
  const aside = view.readings.filter((r) => r.setAside !== undefined);
  flow.list(
    'Readings set aside',
    aside.map(
      (r) =>
        `${r.by === 'ruler' ? `ruler reading ${r.number}` : `capture ${r.number} of fixture ${r.fixtureId}`}: ${r.setAside ?? ''}`,
    ),
  );
  flow.list('The same with every reading counted', view.withAll.map(withAllText));
  flow.list('Departures from the usual course', view.course);
  flow.list('Time', labourLines(view.labour));
  flow.list('Cautions', view.cautions);
  flow.list('Cut short above, here in full', paper.shortened.slice());
  if (paper.hasMissing) flow.list('Type', [MISSING_NOTE]);
}

/** Sections one under the other; a new page when the next line has no room. */
class Flow {
  y = 0;

  constructor(
    readonly paper: Paper,
    readonly view: SheetView,
  ) {}

  begin(): void {
    this.paper.addPage();
    const { paper, view } = this;
    this.y = drawMarks(paper, view, 26);
    const { head } = view;
    paper.line(
      `Job ${view.job}, ${view.profile.model}: for the file`,
      MARGIN,
      this.y,
      380,
      { size: 12, bold: true, ink: INK.accent },
      'H2',
    );
    paper.line(
      `page ${paper.pages}, record ${head.hash.slice(0, 12)}`,
      MARGIN + 390,
      this.y + 3,
      CONTENT_WIDTH - 390,
      { size: SMALL, align: 'right' },
    );
    this.y += 20;
  }

  /** Makes sure that so much height is left. */
  need(height: number): void {
    if (this.y + height > BOTTOM) this.begin();
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

  /** One under the other, over as many pages as it takes. Nothing when there are no items. */
  list(title: string, items: readonly string[]): void {
    if (items.length === 0) return;
    this.title(title, leading(SIZE));
    for (const line of items.flatMap((text) => this.paper.lines(text, CONTENT_WIDTH, SIZE))) {
      this.need(leading(SIZE));
      this.paper.line(line, MARGIN, this.y, CONTENT_WIDTH, { size: SIZE });
      this.y += leading(SIZE);
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
}

function drawRestOfMeasures(flow: Flow, pairs: readonly MeasurePair[]): void {
  flow.title('More measures', HEAD_HEIGHT + ROW_HEIGHT);
  let rest = pairs;
  while (rest.length > 0) {
    flow.need(HEAD_HEIGHT + ROW_HEIGHT);
    const room = Math.floor((BOTTOM - flow.y - HEAD_HEIGHT) / ROW_HEIGHT);
    flow.y = drawMeasures(flow.paper, rest.slice(0, room), lastReadText(flow.view), flow.y) + 4;
    rest = rest.slice(room);
  }
}

function drawTips(flow: Flow, view: SheetView, tips: readonly NumberedTip[]): void {
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
function drawPictures(flow: Flow, view: SheetView): void {
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
