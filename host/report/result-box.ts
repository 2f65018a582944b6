/** The result in one word that reads across a counter, how sure it is, and what holds it back. */
import type { SheetView } from '../views/sheet-view';
import { cannotMendText } from '../views/fault-view';
import { atLeast, RESULT_WORDS, scatterText } from '../views/words';
import { drawSign } from './measure-table';
import { CONTENT_WIDTH, INK, leading, MARGIN, SMALL, type Paper } from './paper';

export const RESULT_HEIGHT = 58;
const WORD_WIDTH = 216;
const SIGNS = { pass: 'inside', fail: 'outside', undecided: 'cannot tell yet' } as const;

/** Draws the box from y and returns the y below. */
export function drawResult(paper: Paper, view: SheetView, y: number): number {
  const { decision } = view;
  const outline =
    decision === 'pass'
      ? { width: 2.2 }
      : decision === 'fail'
        ? { width: 2.2, fill: INK.black }
        : { width: 2.2, dash: 5 };
  paper.box(MARGIN + 1, y + 1, WORD_WIDTH, RESULT_HEIGHT - 2, outline);
  const label = { size: SMALL, ink: decision === 'fail' ? INK.white : INK.grey };
  paper.line('Result', MARGIN + 7, y + 5, 60, label);
  if (decision === undefined) {
    paper.line(
      'result not final',
      MARGIN + 10,
      y + 21,
      WORD_WIDTH - 18,
      { size: 22, bold: true, align: 'center' },
      'H2',
    );
  } else drawWord(paper, decision, y);
  const x = MARGIN + WORD_WIDTH + 14;
  const width = CONTENT_WIDTH - WORD_WIDTH - 14;
  const size = 8.5;
  const most = Math.floor(RESULT_HEIGHT / leading(size));
  let top = y + 1;
  const says = sayings(view);
  says.forEach((text, i) => {
    const left = most - Math.round((top - y - 1) / leading(size)) - (says.length - 1 - i);
    top = paper.paragraph(text, x, top, width, { size, bold: i === 0, most: Math.max(1, left) });
  });
  return y + RESULT_HEIGHT;
}

function drawWord(paper: Paper, decision: NonNullable<SheetView['decision']>, y: number): void {
  const ink = decision === 'fail' ? INK.white : INK.black;
  if (decision === 'fail') paper.box(MARGIN + 11, y + 16, 36, 36, { fill: INK.white, bare: true });
  drawSign(paper, SIGNS[decision], MARGIN + 29, y + 34, 12);
  paper.line(
    RESULT_WORDS[decision],
    MARGIN + 54,
    y + 20,
    WORD_WIDTH - 60,
    { size: 25, bold: true, ink },
    'H2',
  );
}

/** What stands beside the word, most important first. */
export function sayings(view: SheetView): string[] {
  const last = view.stages.at(-1);
  if (last === undefined) return ['No complete set of readings yet.', ...capsText(view)];
  const atFault = last.faults.rows.filter((r) => r.status !== 'within its limit').map((r) => r.parts);
  const readingsSay =
    view.decision === last.decision ? [] : [`The readings alone say: ${RESULT_WORDS[last.decision]}.`];
  return [
    `All limits are kept with a probability of ${atLeast(last.jointProbability)}.`,
    ...(last.restsOnAssumedValues
      ? [
          `Rests on assumed values${last.restsOn.length === 0 ? '' : ` (${last.restsOn.join(', ')})`}: with their widths doubled it is no longer a ${RESULT_WORDS[last.decision]}.`,
        ]
      : []),
    ...(last.scatter === undefined ? [] : [`The ${scatterText(last.scatter)}.`]),
    ...last.cannotMend.map((name) => `${cannotMendText(name)}.`),
    ...(atFault.length === 0 ? [] : [`At fault: ${atFault.join('; ')}. Sizes and what to do: full record.`]),
    ...readingsSay,
    ...capsText(view),
  ];
}

function capsText(view: SheetView): string[] {
  if (view.caps.length === 0) return [];
  return [
    `${view.decision === 'fail' ? 'Found besides' : 'Kept from being a pass by'}: ${view.caps.join('; ')}.`,
  ];
}
