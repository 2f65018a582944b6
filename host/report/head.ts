/** Top of the sheet: marks that nobody may overlook, what it is, whose machine, who and when. */
import type { SheetView } from '../views/sheet-view';
import { timeText } from '../views/words';
import type { Kind } from './sheet';
import { CONTENT_WIDTH, INK, MARGIN, SMALL, type Paper } from './paper';

export const SIMULATED_MARK = 'SIMULATED SHOP – invented machine, no real measurement';
export const INVENTED_MARK = 'INVENTED MACHINE – an example, no maker’s product';
export const RULER_MARK = 'READ WITH A RULER – no fixture, no record of the instrument';
export const OPEN_MARK = 'JOB NOT CLOSED: NOT A FINAL SHEET';

/** A record of another shop: this shop only passes it on. */
export function foreignMark({ writer, fingerprint }: NonNullable<SheetView['foreign']>): string {
  return `FOREIGN RECORD – of ${writer}, key ${fingerprint.slice(0, 16)}`;
}

const BAND_HEIGHT = 16;
const FIELD_HEIGHT = 24;

/** What the paper is, by what the job was for. */
export function sheetTitle({ use }: SheetView, kind: Kind): string {
  const work = {
    inspection: 'inspection',
    levelling: 'levelling',
    diagnosis: 'diagnosis',
    warranty: 'warranty work',
  };
  return `Mower deck ${work[use]}: ${kind}`;
}

/** Draws the marks that apply, one band each, and returns the y below. */
export function drawMarks(paper: Paper, view: SheetView, y: number): number {
  const marks = [
    ...(view.foreign === undefined ? [] : [foreignMark(view.foreign)]),
    ...(view.simulated ? [SIMULATED_MARK] : view.profile.invented ? [INVENTED_MARK] : []),
    ...(view.byRuler ? [RULER_MARK] : []),
    ...(view.decision === undefined ? [OPEN_MARK] : []),
  ];
  for (const mark of marks) {
    paper.box(MARGIN, y, CONTENT_WIDTH, BAND_HEIGHT, { fill: INK.black, bare: true });
    paper.line(mark, MARGIN, y + 3.2, CONTENT_WIDTH, {
      size: 9.5,
      bold: true,
      ink: INK.white,
      align: 'center',
    });
    y += BAND_HEIGHT + 3;
  }
  return y;
}

/** Draws title and fields and returns the y below. */
export function drawHead(paper: Paper, view: SheetView, kind: Kind, y: number): number {
  paper.line(sheetTitle(view, kind), MARGIN, y + 1, 400, { size: 17, bold: true, ink: INK.accent }, 'H1');
  paper.line(`Swathplane, job ${view.job}`, MARGIN + 380, y + 8, CONTENT_WIDTH - 380, {
    size: 8.5,
    ink: INK.grey,
    align: 'right',
  });
  y += 23;
  paper.stroke(
    [
      [MARGIN, y],
      [MARGIN + CONTENT_WIDTH, y],
    ],
    { ink: INK.accent, width: 1.4 },
  );
  const fields = [
    ['Machine', view.profile.invented ? `${view.profile.model} (invented machine)` : view.profile.model],
    ['Serial number', view.serialNumber],
    ['Work order', view.workOrder],
    ['Technician', view.technicians.join(', ')],
    ['Opened', timeText(view.openedAt)],
    ['Closed', view.closedAt === undefined ? 'not closed' : timeText(view.closedAt)],
  ] as const;
  const width = CONTENT_WIDTH / 3;
  fields.forEach(([label, value], i) => {
    const x = MARGIN + (i % 3) * width;
    const top = y + 5 + Math.floor(i / 3) * FIELD_HEIGHT;
    paper.line(label, x, top, width - 8, { size: SMALL, ink: INK.grey });
    paper.line(value === '' ? 'none given' : value, x, top + 9.5, width - 8, { size: 9.5, bold: true });
  });
  return y + 5 + 2 * FIELD_HEIGHT;
}
