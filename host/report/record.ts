/**
 * The full record of a job as PDF: the delivery sheet's page first, then everything that it rests on, for whoever has to
 * judge the job later. It draws what the view says and computes nothing of the job.
 */
import { faultLines } from '../views/fault-view';
import {
  BUDGET_NOTES,
  budgetTables,
  instrumentLines,
  photoTexts,
  READING_NOTES,
  readingTable,
  resultTables,
  setAsideLines,
  whoLines,
} from '../views/record-tables';
import type { RecordView } from '../views/record-view';
import type { SheetView } from '../views/sheet-view';
import { Flow } from './flow';
import { MISSING_NOTE, SHORT_HASH } from './foot';
import { drawMarks } from './head';
import { CONTENT_WIDTH, MARGIN, SMALL, type Paper } from './paper';
import { drawFirstPage, numberedTips, sheetPaper, type LeftOver } from './sheet';
import { drawRestOfMeasures, drawSwathAndSkirt, drawTips } from './tip-table';
import { labourLines, turnLines, withAllText } from './work';

/** Pure: the same view gives the same bytes. A4 portrait, tagged, in English. */
export function recordPdf(view: RecordView): Promise<Uint8Array> {
  const paper = sheetPaper(view.sheet, 'full record');
  const left = drawFirstPage(paper, view.sheet, 'full record');
  const flow = new Flow(paper, (y) => runningHead(paper, view.sheet, y));
  flow.begin();
  drawCase(flow, view);
  drawFindings(flow, view, left);
  drawGrounds(flow, view);
  drawReadings(flow, view);
  drawProof(flow, view);
  return paper.bytes();
}

function runningHead(paper: Paper, sheet: SheetView, y: number): number {
  y = drawMarks(paper, sheet, y);
  const { head, job, profile, serialNumber } = sheet;
  const serial = serialNumber === '' ? 'none given' : serialNumber;
  paper.running(`Job ${job}, ${profile.model}, serial number ${serial}`, MARGIN, y, CONTENT_WIDTH - 130);
  const record = `record ${head.hash.slice(0, SHORT_HASH)}`;
  paper.running(record, MARGIN + CONTENT_WIDTH - 130, y, 130, { align: 'right' });
  return y + 12;
}

/** What was complained of, who did what, and what came of it. */
function drawCase(flow: Flow, view: RecordView): void {
  const { sheet } = view;
  flow.part('The case');
  flow.list(
    'Claim',
    sheet.claim.map(({ field, text }) => `${field}: ${text === '' ? 'not stated' : text}`),
  );
  flow.list('Who and when', whoLines(view));
  flow.list('Departures from the usual course', sheet.course);
  flow.list('Parts tested and replaced', sheet.parts);
  flow.list('What was turned', turnLines(sheet));
  flow.list('Time', labourLines(sheet.labour));
  flow.list('Photos', photoTexts(view));
}

/** What the readings showed. */
function drawFindings(flow: Flow, view: RecordView, left: LeftOver): void {
  const { sheet } = view;
  flow.part('What the readings showed');
  for (const table of resultTables(view)) flow.table(table);
  if (left.measures.length > 0) drawRestOfMeasures(flow, sheet, left.measures);
  const cause = sheet.stages[0]?.faults;
  const leaves = sheet.stages.at(-1)?.faults;
  if (cause !== undefined && sheet.stages.length > 1)
    flow.list('Parts at fault, as it came', faultLines(cause));
  if (leaves !== undefined) flow.list('Parts at fault, as last read', faultLines(leaves));
  if (leaves !== undefined && sheet.decision !== 'pass')
    flow.list('What the readings leave open', leaves.hidden);
  flow.list(
    'What was to be turned, and what was expected of it',
    sheet.stages.flatMap((s) => (s.turned.length === 0 ? [] : (s.turningLines ?? []))),
  );
  const tips = numberedTips(sheet);
  if (tips.length > 0) drawTips(flow, sheet, tips);
  drawSwathAndSkirt(flow, sheet);
}

/** What the result rests on besides the readings. */
function drawGrounds(flow: Flow, view: RecordView): void {
  const { sheet } = view;
  flow.part('What it rests on');
  flow.list('Rule', [sheet.rule]);
  for (const table of budgetTables(view)) flow.table(table);
  if (view.budgets.length > 0) flow.lines(BUDGET_NOTES, SMALL);
  flow.list('Instruments', instrumentLines(view));
  flow.list('Bay', sheet.bay?.sentences ?? []);
  flow.pairs(
    'Preparation',
    sheet.prepared.map(
      (p, i) => `${i + 1}. ${p.text}: ${p.answer}${p.carried === true ? ' (carried over)' : ''}`,
    ),
  );
  flow.list('Cautions shown and confirmed', sheet.cautions);
}

function drawReadings(flow: Flow, view: RecordView): void {
  flow.part('Readings');
  flow.list('Readings set aside', setAsideLines(view));
  flow.list('The same with every reading counted', view.sheet.withAll.map(withAllText));
  flow.table(readingTable(view), 'dense');
  if (view.readings.length > 0) flow.lines(READING_NOTES, SMALL);
}

/** How far to trust this paper, and how not to have to. */
function drawProof(flow: Flow, { sheet, seal }: RecordView): void {
  const { paper } = flow;
  const { writer, sequence, hash } = sheet.head;
  flow.part('How to check this record');
  flow.list('Entry', [
    `Check number ${seal.short}: entry ${sequence} of log ${writer}, the last of this job.`,
    `SHA-256 of that entry: ${hash}`,
    ...(seal.key === undefined
      ? []
      : [
          `Signed with the key of check number ${seal.key.short}. Its fingerprint (SHA-256 of the key): ${seal.key.fingerprint}`,
          `Signature (Ed25519): ${seal.key.signature.slice(0, 64)} ${seal.key.signature.slice(64)}`,
        ]),
  ]);
  flow.list('What it proves', [seal.proves]);
  flow.list('What it does not prove', [seal.provesNot]);
  flow.list('How to verify', VERIFY);
  flow.list('Cut short above, here in full', paper.shortened.slice());
  if (paper.hasMissing) flow.list('Type', [MISSING_NOTE]);
}

const VERIFY = [
  'With this tool: swathplane verify checks the whole log of the shop, or the file of one exported job, computes the results again from the readings, and with --head and --key looks for the entry and the key named here. Without it: host/ledger/FORMAT.md says byte by byte how to check a log or an exported job; SHA-256, Ed25519 and a reader of SQLite are all it takes.',
  'Ask the shop for the fingerprint of its key by another way than this paper, and compare the check number with the one on the delivery sheet that the customer was given: a log that was written anew has another.',
];
