/** The commands of the bay: put a survey in, show what is known, turn a machine round, swing the casters. */
import { casterSwing, type SwingCheck } from '../bay/caster-swing';
import { bayLine } from '../bay/known-floor';
import { parseBay } from '../bay/load';
import { surveyResult, type SurveyResult } from '../bay/survey';
import type { Bay } from '../bay/bay';
import { turnRound, type BayBias } from '../bay/turn-round';
import { baysInLog } from '../conduct/bay-in-log';
import { knownOfInstruments } from '../conduct/gauging-in-log';
import { stateInLog } from '../conduct/state-in-log';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import type { EquipmentKind } from '../gauging/equipment';
import { measureQuestions, readingsOfRounds } from '../procedure/assess';
import type { JobState, Setting } from '../procedure/state';
import { columns } from '../terminal/stage-text';
import { overdueLines } from '../views/gauging-words';
import { jobNumber } from './job-number';
import { print, printJson, readIn } from './output';
import { reading, writing } from './with-log';

export interface BayOptions {
  readonly log: string;
  /** Name of the writer of the log. */
  readonly bay: string;
  readonly json?: boolean;
}

/** Errors: 405, 451 to 455, and those of the log. */
export function surveyBay(file: string, options: BayOptions): Promise<number> {
  const bay = parseBay(readIn(file), file);
  const result = surveyResult(bay);
  const fault = result?.faults[0];
  if (fault !== undefined) throw numberedError(fault.error, fault.about);
  writing(options, (ledger) => ledger.appendOfShop({ type: 'bay surveyed', bay }));
  const line = bayLine({ bay, on: today(), turnRounds: [] }, false);
  if (options.json === true) printJson({ bay, result, line });
  else
    print(
      ...line.sentences,
      ...overdueOf('level', options),
      ...(result === undefined ? [] : surveyText(bay, result)),
    );
  return Promise.resolve(0);
}

/** A reference of the register that is past its date, as far as this may have been read with it. */
function overdueOf(kind: EquipmentKind, options: BayOptions): string[] {
  const known = reading(options, (ledger) => knownOfInstruments(ledger, today()));
  const overdue = (known.overdue ?? []).filter((e) => e.kind === kind);
  return overdueLines({ ...known, overdue });
}

/** Errors: 405, 456 and those of the log. */
export function showBays(name: string | undefined, options: BayOptions): Promise<number> {
  const bays = reading(options, (ledger) => baysInLog(ledger, today())).filter(
    ({ bay }) => name === undefined || bay.name === name,
  );
  if (bays.length === 0) throw numberedError('no such bay', `${name ?? 'none at all'} in ${options.log}`);
  const shown = bays.map((of) => ({
    bay: of.bay,
    result: surveyResult(of.bay),
    line: bayLine(of, false),
    turnRounds: of.turnRounds,
  }));
  if (options.json === true) printJson(shown);
  else {
    for (const { bay, result, line } of shown)
      print(...line.sentences, ...(result === undefined ? [] : surveyText(bay, result)), '');
  }
  return Promise.resolve(0);
}

/** Errors: 256, 456, 457 and those of the log. */
export function turnBayRound(first: string, second: string, options: BayOptions): Promise<number> {
  const jobs = [jobNumber(first), jobNumber(second)] as const;
  const biases = writing(options, (ledger) => {
    const [a, b] = jobs.map((job) => stateInLog(ledger, job)) as [JobState, JobState];
    const on = today();
    const bay = (b.bay ?? a.bay)?.bay ?? baysInLog(ledger, on)[0]?.bay;
    if (bay === undefined) throw numberedError('no such bay', `${options.log} knows none`);
    const settings = [lastRead(a, jobs[0]), firstRead(b, jobs[1])] as const;
    sameMachine(a, b);
    const found = turnRound(bay, on, visitOf(a, settings[0]), visitOf(b, settings[1]));
    if (found.biases.length === 0) throw numberedError('no turn-round', 'no measure was read in both');
    ledger.appendOfShop({ type: 'bay turned round', bayName: bay.name, on, jobs, ...found });
    return found.biases;
  });
  if (options.json === true) printJson({ jobs, biases });
  else print(...biasText(biases));
  return Promise.resolve(0);
}

/** Checks as shim:left:right, the shim in mm under the left caster, the forces in newtons. Errors: 403, 458. */
export function swingCasters(
  texts: readonly string[],
  options: BayOptions & { readonly serial: string },
): Promise<number> {
  const checks = texts.map(swingCheck);
  const { imbalance, equalShimMm, standardUncertaintyMm } = casterSwing(checks);
  if (checks.length > 1 && equalShimMm === undefined)
    throw numberedError('caster checks do not tell', texts.join(', '));
  writing(options, (ledger) =>
    ledger.appendOfShop({
      type: 'casters swung',
      bayName: options.bay,
      serialNumber: options.serial,
      checks,
      ...(equalShimMm === undefined ? {} : { equalShimMm }),
    }),
  );
  if (options.json === true) printJson({ imbalance, equalShimMm, standardUncertaintyMm });
  else {
    const side = (share: number) => (share >= 0 ? 'left' : 'right');
    print(
      ...overdueOf('pull scale', options),
      ...checks.map((c, i) => {
        const share = imbalance[i] ?? 0;
        return `shim ${c.leftShimMm} mm: left ${c.leftN} N, right ${c.rightN} N: the ${side(share)} caster carries ${(100 * Math.abs(share)).toFixed(0)} % more than the mean`;
      }),
      equalShimMm === undefined
        ? 'Check once more with a shim of known height under one caster to learn which shim makes them alike.'
        : `A shim of ${Math.abs(equalShimMm).toFixed(1)} ± ${(2 * (standardUncertaintyMm ?? 0)).toFixed(1)} mm under the ${equalShimMm >= 0 ? 'left' : 'right'} caster makes them carry alike.`,
    );
  }
  return Promise.resolve(0);
}

function swingCheck(text: string): SwingCheck {
  const [leftShimMm, leftN, rightN, ...more] = text.split(':').map(Number);
  const numbers = [leftShimMm, leftN, rightN];
  if (more.length > 0 || !numbers.every(Number.isFinite) || !((leftN ?? 0) > 0 && (rightN ?? 0) > 0))
    throw numberedError('command not understood', `'${text}' is no shim:left:right`);
  return { leftShimMm: leftShimMm ?? 0, leftN: leftN ?? 0, rightN: rightN ?? 0 };
}

function surveyText(bay: Bay, result: SurveyResult): string[] {
  const { adjustment, wheels } = result;
  const rows = bay.points.map((p, i) => {
    const height = adjustment.heights[i];
    if (height?.determined !== true) return [p.name, 'not reached'];
    return [p.name, `${height.heightMm.toFixed(2)} ± ${(2 * height.standardUncertaintyMm).toFixed(2)} mm`];
  });
  const shims = wheels?.shims.map((s) => `${s.heightMm.toFixed(1)} mm on ${s.spot}`).join(' or ') ?? '';
  return [
    `Worst misclosure ${Math.abs(result.misclosureMm).toFixed(2)} mm, allowed ${result.allowanceMm.toFixed(2)} mm.`,
    ...(wheels === undefined
      ? []
      : [
          `Wheel spots: slope ${wheels.slopeX.toFixed(1)} mm in a metre along, ${wheels.slopeY.toFixed(1)} to the left; twist ${wheels.twistMm.toFixed(2)} mm${shims === '' ? '' : `, nulled by a shim of ${shims}`}.`,
        ]),
    ...columns([['point', 'height against the first ± U (k = 2)'], ...rows]).map((line) => `  ${line}`),
  ];
}

function biasText(biases: readonly BayBias[]): string[] {
  return [
    'What the floor adds to a machine that faces as in the first job; the next jobs on this bay count with it:',
    ...columns([
      ['measure', 'half the difference', 'bias ± U (k = 2)'],
      ...biases.map((b) => [
        b.name,
        `${b.halfDifferenceMm.toFixed(2)} mm`,
        `${b.biasMm.toFixed(2)} ± ${(2 * b.standardUncertaintyMm).toFixed(2)} mm`,
      ]),
    ]).map((line) => `  ${line}`),
  ];
}

function visitOf(state: JobState, setting: Setting) {
  const { of, widths, layout } = readingsOfRounds(state);
  return {
    layout,
    readings: of(setting),
    widths,
    questions: measureQuestions(state.profile),
  };
}

function sameMachine(a: JobState, b: JobState): void {
  if (a.profile.model !== b.profile.model || a.serialNumber !== b.serialNumber)
    throw numberedError('no turn-round', `jobs ${a.job} and ${b.job} are of different machines`);
}

function lastRead(state: JobState, job: number): Setting {
  const setting = state.settings.at(-1);
  if (setting === undefined || setting.assessed.length === 0 || setting.turned.length > 0)
    throw numberedError('no turn-round', `job ${job} does not end with a set of readings`);
  return setting;
}

function firstRead(state: JobState, job: number): Setting {
  const setting = state.settings[0];
  if (setting === undefined || setting.assessed.length === 0)
    throw numberedError('no turn-round', `job ${job} has no set of readings`);
  return setting;
}
