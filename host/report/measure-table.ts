/** Each measure as it came and as it leaves, with limits, their source and the verdict in words. */
import type { MeasureRow, Verdict } from '../views/stage-view';
import { limitsText, measuredText } from '../views/words';
import { CONTENT_WIDTH, INK, MARGIN, SMALL, type Paper } from './paper';

export const ROW_HEIGHT = 14.5;
export const HEAD_HEIGHT = 25;

export interface MeasurePair {
  /** Undefined while there is only one stage. */
  readonly came: MeasureRow | undefined;
  /** From the last complete set of readings. */
  readonly leaves: MeasureRow;
}

const COLUMNS = {
  name: { at: 0, width: 76 },
  came: { at: 78, width: 72 },
  cameVerdict: { at: 152, width: 62 },
  gauge: { at: 216, width: 66 },
  leaves: { at: 290, width: 72 },
  verdict: { at: 364, width: 62 },
  limits: { at: 428, width: CONTENT_WIDTH - 428 },
};

/** Draws the table from y and returns the y below. `lastRead` heads the column of the last readings. */
export function drawMeasures(
  paper: Paper,
  pairs: readonly MeasurePair[],
  lastRead: string,
  y: number,
): number {
  paper.group('Table', () => {
    drawHead(
      paper,
      pairs.some((p) => p.came !== undefined),
      lastRead,
      y,
    );
    pairs.forEach((pair, i) => drawRow(paper, pair, y + HEAD_HEIGHT + i * ROW_HEIGHT));
  });
  return y + HEAD_HEIGHT + pairs.length * ROW_HEIGHT;
}

function drawHead(paper: Paper, withBefore: boolean, lastRead: string, y: number): void {
  paper.box(MARGIN, y, CONTENT_WIDTH, HEAD_HEIGHT - 3, { fill: INK.tint, bare: true });
  const cell = (text: readonly [string, string], column: { at: number; width: number }) => {
    paper.group('TH', () => {
      const [first, second] = text;
      paper.line(first, MARGIN + column.at + 3, y + 2.5, column.width, { size: SMALL, bold: true });
      paper.line(second, MARGIN + column.at + 3, y + 12, column.width, { size: SMALL });
    });
  };
  paper.group('TR', () => {
    cell(['Measure', ''], COLUMNS.name);
    if (withBefore) {
      cell(['As it came', '± U (k = 2)'], COLUMNS.came);
      cell(['', 'verdict'], COLUMNS.cameVerdict);
    }
    cell(
      withBefore ? ['ring: it came', `dot: ${lastRead.replace(/^as /, '')}`] : ['', `dot: ${lastRead}`],
      COLUMNS.gauge,
    );
    cell([`A${lastRead.slice(1)}`, '± U (k = 2)'], COLUMNS.leaves);
    cell(['', 'verdict'], COLUMNS.verdict);
    cell(['Limits', 'and where they come from'], COLUMNS.limits);
  });
}

function drawRow(paper: Paper, { came, leaves }: MeasurePair, y: number): void {
  const cell = (text: string, column: { at: number; width: number }, bold = false, size = 8) => {
    paper.line(
      text,
      MARGIN + column.at + 3,
      y + 3.2 + (8 - size) / 2 + 0.3,
      column.width - 3,
      { size, bold },
      'TD',
    );
  };
  paper.group('TR', () => {
    cell(leaves.name, COLUMNS.name, true);
    if (came !== undefined) {
      cell(measuredText(came), COLUMNS.came);
      drawVerdict(paper, came.verdict, MARGIN + COLUMNS.cameVerdict.at, y);
    }
    cell(measuredText(leaves), COLUMNS.leaves, true);
    drawVerdict(paper, leaves.verdict, MARGIN + COLUMNS.verdict.at, y);
    cell(`${limitsText(leaves)}, ${leaves.limitSource}`, COLUMNS.limits, false, SMALL);
  });
  drawGauge(paper, came, leaves, MARGIN + COLUMNS.gauge.at, y + ROW_HEIGHT / 2);
  paper.stroke(
    [
      [MARGIN, y + ROW_HEIGHT],
      [MARGIN + CONTENT_WIDTH, y + ROW_HEIGHT],
    ],
    { ink: INK.pale, width: 0.4 },
  );
}

/** `not measured` stands in the value's place already. */
function drawVerdict(paper: Paper, verdict: Verdict, x: number, y: number): void {
  if (verdict === 'not measured') return;
  drawSign(paper, verdict, x + 6, y + ROW_HEIGHT / 2, 3);
  paper.line(verdict, x + 12, y + 3.6, 52, { size: SMALL }, 'TD');
}

/** Three shapes that no print and no eye confuses: tick, cross, ring with a dot. */
export function drawSign(
  paper: Paper,
  verdict: 'inside' | 'outside' | 'cannot tell yet',
  x: number,
  y: number,
  size: number,
): void {
  const width = size / 2.6;
  if (verdict === 'inside')
    paper.stroke(
      [
        [x - size, y],
        [x - size * 0.2, y + size * 0.8],
        [x + size, y - size * 0.9],
      ],
      { width },
    );
  else if (verdict === 'outside') {
    paper.stroke(
      [
        [x - size * 0.8, y - size * 0.8],
        [x + size * 0.8, y + size * 0.8],
      ],
      { width },
    );
    paper.stroke(
      [
        [x - size * 0.8, y + size * 0.8],
        [x + size * 0.8, y - size * 0.8],
      ],
      { width },
    );
  } else {
    paper.circle(x, y, size * 0.85, { width: width * 0.7, fill: INK.white });
    paper.circle(x, y, size * 0.22, { fill: INK.black, bare: true });
  }
}

/** Limits as two posts a half of the width apart, with U as whiskers; what lies beyond the ends stops there with an arrow. */
function drawGauge(
  paper: Paper,
  came: MeasureRow | undefined,
  leaves: MeasureRow,
  x: number,
  y: number,
): void {
  const { width } = COLUMNS.gauge;
  const span = leaves.upperMm - leaves.lowerMm;
  if (!(span > 0)) return;
  const at = (mm: number) => x + width * (0.25 + (0.5 * (mm - leaves.lowerMm)) / span);
  const clamped = (mm: number) => Math.min(x + width - 3, Math.max(x + 3, at(mm)));
  paper.box(at(leaves.lowerMm), y - 5, width / 2, 10, { fill: INK.tint, bare: true });
  for (const limit of [leaves.lowerMm, leaves.upperMm])
    paper.stroke(
      [
        [at(limit), y - 5.5],
        [at(limit), y + 5.5],
      ],
      { width: 0.9 },
    );
  const mark = (row: MeasureRow, dy: number, fill: string) => {
    if (row.verdict === 'not measured') return;
    const middle = clamped(row.valueMm);
    paper.stroke(
      [
        [clamped(row.valueMm - row.expandedMm), y + dy],
        [clamped(row.valueMm + row.expandedMm), y + dy],
      ],
      { width: 0.6 },
    );
    if (middle === at(row.valueMm)) paper.circle(middle, y + dy, 1.9, { fill, width: 0.7 });
    else {
      const way = row.valueMm < leaves.lowerMm ? -1 : 1;
      paper.polygon(
        [
          [middle + way * 3, y + dy],
          [middle - way * 2, y + dy - 2.4],
          [middle - way * 2, y + dy + 2.4],
        ],
        { fill, width: 0.7 },
      );
    }
  };
  if (came !== undefined) mark(came, -2.6, INK.white);
  mark(leaves, came === undefined ? 0 : 2.6, INK.black);
}
