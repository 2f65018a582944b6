/** The record's tables in words and numbers, the same for report, page and terminal. */
import { ASSUMED_WIDTHS } from '../gauging/widths';
import type { Stage } from '../ledger/events';
import type { UncertaintyBudget, UncertaintySource } from '../procedure/uncertainty-budget';
import type { InstrumentLine, RawCapture, RawReading, RecordView } from './record-view';
import type { StageView } from './stage-view';
import { significant, type Table } from './table';
import {
  atLeast,
  differencesText,
  headingText,
  measuredText,
  RESULT_WORDS,
  SOURCE_WORDS,
  STAGE_TITLES,
  timeText,
} from './words';

/** Columns of measures that one table takes. */
const MEASURES_ABREAST = 6;

/** Every set of readings with its result: what came first, what each round did, how it leaves. */
export function resultTables({ sheet }: RecordView): Table[] {
  const measures = sheet.profile.measures.map((m) => m.name);
  return chunks(measures, MEASURES_ABREAST).map((names, part) => ({
    title: part === 0 ? 'Every set of readings, value ± U (k = 2)' : 'The same, further measures',
    head: ['', 'result', 'probability', ...names],
    rows: sheet.stages.map((stage, i) => [
      `${i + 1}. ${STAGE_TITLES[stage.stage]}`,
      RESULT_WORDS[stage.decision],
      atLeast(stage.jointProbability).replace('more than ', '> ').replace('at least ', '>= '),
      ...names.map((name) => measureCell(stage, name)),
    ]),
  }));
}

function measureCell(stage: StageView, name: string): string {
  const row = stage.measures.find((m) => m.name === name);
  return row === undefined ? '' : measuredText(row).replace(' mm', '');
}

/** Where the uncertainty of a set of readings comes from: shares of the variance, and what they make together. */
export function budgetTables({ budgets, assumed }: RecordView): Table[] {
  return budgets.flatMap(({ stage, budget }) =>
    chunks(
      budget.measures.map((_, i) => i),
      MEASURES_ABREAST,
    ).map((columns) => budgetTable(stage, budget, columns, assumed)),
  );
}

function budgetTable(
  stage: Stage,
  { measures, sources, rest }: UncertaintyBudget,
  columns: readonly number[],
  assumed: readonly UncertaintySource[],
): Table {
  const percent = (share: number | undefined) =>
    `${(100 * (share ?? 0)).toFixed(1)} %`.replace(/^-(?=0\.0 )/, '').replace('-', '−');
  const mm = (factor: number) =>
    columns.map((i) => (factor * (measures[i]?.standardUncertaintyMm ?? 0)).toFixed(2));
  const left = columns.map((i) => rest[i] ?? 0);
  return {
    title: `Uncertainty budget, ${STAGE_TITLES[stage].toLowerCase()}: share of each source in the variance`,
    head: ['Source', 'counted as', 'from', ...columns.map((i) => measures[i]?.name ?? '')],
    rows: [
      ...sources.map(({ source, value, shares }) => [
        SOURCE_WORDS[source],
        value === undefined ? '' : `${significant(value, 2)} ${unitOf(source)}`,
        value === undefined ? '' : assumed.includes(source) ? 'assumed' : 'known',
        ...columns.map((i) => percent(shares[i])),
      ]),
      ...(left.some((r) => Math.abs(r) >= 5e-4) ? [['not shared out', '', '', ...left.map(percent)]] : []),
      ['combined standard uncertainty u', 'mm', '', ...mm(1)],
      ['expanded uncertainty U (k = 2)', 'mm', '', ...mm(2)],
    ],
  };
}

/** How the budgets are to be read. */
export const BUDGET_NOTES: readonly string[] = [
  'The share of a source is what the variance of the measure would lose, in proportion, if that source’s variance were a little smaller: computed by the solver that gave the result. Shares add up to 100 %, save for what stands as not shared out (pointing a blade acts in part by its square). Assumed: no study, certificate or survey of this shop has replaced the value. After JCGM 100 (GUM), 5.1 and 8.',
];

function unitOf(source: UncertaintySource): string {
  const unit = source in ASSUMED_WIDTHS ? ASSUMED_WIDTHS[source as keyof typeof ASSUMED_WIDTHS].unit : 'rad';
  return unit === '1' ? '' : unit;
}

/** Every reading as it came from the fixture; those of a ruler have their height only. */
export function readingTable({ readings, instruments }: RecordView): Table {
  const several = instruments.length > 1;
  return {
    title: 'Every reading, as it was taken',
    head: [
      'no.',
      ...(several ? ['fixture'] : []),
      'UTC',
      'read',
      'seat',
      'head',
      'counts',
      's',
      'n',
      'gx mg',
      'gy mg',
      'gz mg',
      '°C',
      'dist. mm',
      'height mm',
      '',
    ],
    rows: readings.map((r) => readingRow(r, several)),
  };
}

function readingRow(r: RawReading, several: boolean): string[] {
  return [
    `${r.number}`,
    ...(several ? [r.by === 'fixture' ? r.fixtureId : 'ruler'] : []),
    r.at.slice(11, 19),
    shortTarget(r),
    r.target.kind === 'master' ? '' : `${r.target.seating}.${r.target.placement}`,
    ...(r.by === 'fixture' ? rawCells(r) : ['', '', '', '', '', '', '', '', '']),
    r.heightMm.toFixed(r.by === 'fixture' ? 3 : 1),
    r.setAside !== undefined ? 'aside' : r.upheld ? 'upheld' : '',
  ];
}

function rawCells(r: RawCapture): string[] {
  return [
    r.headPosition,
    r.countsMean.toFixed(1),
    r.countsSd.toFixed(1),
    `${r.samples}`,
    ...r.gravityMg.map((g) => g.toFixed(1)),
    r.temperatureC.toFixed(1),
    r.distanceMm.toFixed(3),
  ];
}

function shortTarget({ target }: RawReading): string {
  if (target.kind === 'master') return `master ${target.edge}, ${target.when}`;
  const refitted = target.kind === 'tip' && target.refitted === true ? ', refitted' : '';
  const watched = target.kind === 'watch' ? `, ${target.during} ${target.when}` : '';
  return `${target.spindle} ${target.end} ${headingText(target.headingDeg)}${refitted}${watched}`;
}

/** How the table of readings is to be read. */
export const READING_NOTES: readonly string[] = [
  'no.: number of the capture, given by the fixture and never twice. read: spindle, blade end, where it points. seat: lowering of the deck onto its stop, and clamping of the fixture. counts, s, n: mean of the converter’s counts, standard deviation of one sample, number of samples. gx, gy, gz: specific force in the fixture’s frame, in thousandths of g. dist.: along the beam. height: of the cutting edge over the spot. aside: does not count, see above; upheld: the technician was asked about it and says that it is right.',
  'Distance and height follow from counts, g and temperature by the calibration named under Instruments (protocol/SPEC.md, section 12). Boot count, time since start, drift and waiting time of every capture stand in the JSON of this record.',
];

/** One paragraph for each fixture. */
export function instrumentLines({ instruments }: RecordView): string[] {
  return instruments.flatMap((i) => [
    `Fixture ${i.fixtureId}, board ${i.board}, firmware ${i.firmwareVersion}, protocol ${i.protocol}.`,
    `Its height master: ${i.master.name}, edges ${i.master.lowMm.toFixed(2)} and ${i.master.highMm.toFixed(2)} mm. Differences from its edges: opening ${differencesText(i.openingErrorsMm)}, closing ${differencesText(i.closingErrorsMm)}.`,
    ...i.calibrations.map(
      (c) =>
        `Calibration ${c.version} of the ${c.head} head, written on ${c.on}: ${c.body.knots.length / 2} knots from ${((c.body.knots[1] ?? 0) / 1000).toFixed(1)} to ${((c.body.knots.at(-1) ?? 0) / 1000).toFixed(1)} mm, at ${(c.body.temperatureReference / 100).toFixed(1)} °C.`,
    ),
    ...(i.trust.length === 0 ? [] : [`What stands behind it: ${i.trust.join('; ')}.`]),
    capturesText(i),
  ]);
}

function capturesText({ captures: { first, last, missing }, bootCounts }: InstrumentLine): string {
  if (first === 0) return 'No capture of it is in this job.';
  const gap = ({ from, to }: { from: number; to: number }) => (from === to ? `${from}` : `${from} to ${to}`);
  const numbers =
    missing.length === 0
      ? 'without a gap'
      : `without ${missing.map(gap).join(', ')}: these are captures of other jobs, or missing`;
  const starts = bootCounts.length === 1 ? 'all in start' : 'in the starts';
  return `Captures ${first} to ${last}, ${numbers}, ${starts} ${bootCounts.join(', ')} of the fixture.`;
}

/** Readings that do not count, with the reason. */
export function setAsideLines({ readings }: RecordView): string[] {
  return readings.flatMap((r) =>
    r.setAside === undefined
      ? []
      : [
          `${r.by === 'ruler' ? `ruler reading ${r.number}` : `capture ${r.number} of fixture ${r.fixtureId}`} (${shortTarget(r)}, ${r.heightMm.toFixed(2)} mm): ${r.setAside}`,
        ],
  );
}

/** Each photo by its hash: the picture itself lies beside the log. */
export function photoTexts({ photos }: RecordView): string[] {
  return photos.map(
    ({ at, by, kind, bytes, hash, kept }) =>
      `${timeText(at)}, by ${by}: ${kind}, ${bytes} bytes, SHA-256 ${hash}${kept ? '' : ' (deleted since)'}`,
  );
}

/** Who did it, and when what was confirmed. */
export function whoLines({ sheet, cautionsConfirmedAt }: RecordView): string[] {
  return [
    `Technicians: ${sheet.technicians.filter((t) => t !== '').join(', ') || 'none named'}.`,
    `Opened ${timeText(sheet.openedAt)}, ${sheet.closedAt === undefined ? 'not closed' : `closed ${timeText(sheet.closedAt)}`}. Times are those of the computer's clock.`,
    cautionsConfirmedAt === undefined
      ? 'The cautions have not been confirmed.'
      : `The cautions were confirmed ${timeText(cautionsConfirmedAt)}, before the first reading.`,
  ];
}

function chunks<T>(items: readonly T[], size: number): T[][] {
  return Array.from({ length: Math.ceil(items.length / size) }, (_, i) =>
    items.slice(i * size, (i + 1) * size),
  );
}
