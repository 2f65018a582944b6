import { numberedError } from '../errors/errors';
import { openLedgerForReading, type JobEntry } from '../ledger/ledger';
import { labourLines, withAllText } from '../report/work';
import { columns, stageText, tipsText } from '../terminal/stage-text';
import { shortForm } from '../views/seal-view';
import { sheetView, type SheetView } from '../views/sheet-view';
import { RESULT_WORDS, STAGE_TITLES, turnedText, USE_TITLES } from '../views/words';
import { findJob, jobRef } from './job-ref';
import { print, printJson } from './output';

export interface RecordsOptions {
  readonly log: string;
  readonly json?: boolean;
  readonly verify?: boolean;
}

export function records(job: string | undefined, options: RecordsOptions): Promise<number> {
  const ledger = openLedgerForReading(options.log);
  try {
    if (options.verify === true) {
      const verified = ledger.verify();
      if (options.json === true) printJson(verified);
      else print(`${verified.events} events, chain and signatures intact, head ${verified.head}`);
    } else if (job === undefined) {
      const jobs = ledger.jobs();
      if (options.json === true) printJson(jobs);
      else print(...columns([['job', 'opened', 'machine', 'serial', 'result'], ...jobs.map(line)]));
    } else {
      const { job: number, events, foreign } = findJob(ledger, jobRef(job));
      const view = { ...viewOf(events, number), ...(foreign === undefined ? {} : { foreign }) };
      if (options.json === true) printJson({ view, events });
      else print(...recordText(view));
    }
    return Promise.resolve(0);
  } finally {
    ledger.close();
  }
}

export function viewOf(events: Parameters<typeof sheetView>[0], job: number): SheetView {
  const view = sheetView(events);
  if (view === undefined) throw numberedError('no such job', `job ${job}`);
  return view;
}

function line(entry: JobEntry): string[] {
  const result = entry.decision === undefined ? 'open' : RESULT_WORDS[entry.decision];
  const simulated = entry.simulated ? ' (simulated)' : '';
  const foreign = entry.foreign === undefined ? '' : ` (of ${entry.foreign.writer}, job ${entry.job})`;
  return [
    entry.foreign === undefined ? `${entry.job}` : `F${entry.foreign.importedAs}`,
    entry.at.slice(0, 16).replace('T', ' '),
    entry.model,
    entry.serialNumber,
    result + simulated + foreign,
  ];
}

function recordText(view: SheetView): string[] {
  return [
    `Job ${view.job}, ${USE_TITLES[view.use].toLowerCase()}: ${view.profile.model}, serial number ${view.serialNumber || '-'}, work order ${view.workOrder || '-'}`,
    ...(view.foreign === undefined
      ? []
      : [
          `FOREIGN RECORD: of ${view.foreign.writer}, signed with the key ${shortForm(view.foreign.fingerprint)} (${view.foreign.fingerprint})`,
        ]),
    ...(view.simulated ? ['SIMULATED SHOP: invented machine, no real measurement'] : []),
    ...(view.byRuler ? ['READ WITH A RULER: no fixture, no record of the instrument'] : []),
    `Opened ${view.openedAt}${view.closedAt === undefined ? ', not closed' : `, closed ${view.closedAt}`} by ${view.technicians.filter((t) => t !== '').join(', ') || '-'}`,
    `Result: ${view.decision === undefined ? 'open' : RESULT_WORDS[view.decision]}`,
    ...view.caps.map((cap) => `  held back by: ${cap}`),
    ...view.claim.map(({ field, text }) => `${field}: ${text === '' ? 'not stated' : text}`),
    ...(view.bay?.sentences.map((s) => `Bay: ${s}`) ?? []),
    ...view.stages.flatMap((stage) => [
      '',
      ...stageText(STAGE_TITLES[stage.stage], stage),
      ...tipsText(stage),
      ...stage.turned.map((t) => `  turned ${turnedText(view.profile, t.adjuster, t.turns)}`),
    ]),
    '',
    ...view.fixtures.map((f) => {
      const shown = (errors: readonly number[]) => errors.map((e) => e.toFixed(2)).join(', ') || '-';
      return `Fixture ${f.fixtureId}, firmware ${f.firmwareVersion}, calibrations ${f.calibrationVersion}; off on its height master: opening ${shown(f.openingErrorsMm)} mm, closing ${shown(f.closingErrorsMm)} mm${(f.trust ?? []).map((t) => `; ${t}`).join('')}`;
    }),
    ...view.parts.map((part) => `Part: ${part}`),
    ...view.withAll.map((all) => `With every reading counted: ${withAllText(all)}`),
    ...view.course,
    ...labourLines(view.labour).map((line) => `Time, ${line}`),
    `${view.readings.length} readings, ${view.readings.filter((r) => r.setAside !== undefined).length} set aside`,
    `Record head: ${view.head.writer} ${view.head.sequence} ${view.head.hash}`,
    view.rule,
  ];
}
