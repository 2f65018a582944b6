/** Puts a job's record right by further events: nothing that was written is changed. */
import { putRight } from '../conduct/put-right';
import { stateInLog } from '../conduct/state-in-log';
import { RULER } from '../procedure/state';
import { numberedError } from '../errors/errors';
import type { ClaimField, ItemAnswer, JobEvent } from '../ledger/events';
import { openLedger } from '../ledger/ledger';
import { jobNumber } from './job-number';
import { print, printJson } from './output';

export interface CorrectOptions {
  readonly restore?: number;
  readonly setAside?: number;
  readonly tip?: string;
  readonly turned?: string;
  readonly item?: string;
  readonly claim?: string;
  readonly handOver?: string;
  readonly offTheMachine?: string;
  readonly giveUp?: true;
  readonly reopen?: true;
  readonly readAgain?: true;
  /** Of the capture that is meant; left out: the only one of the job, or the ruler. */
  readonly fixture?: string;
  readonly by: string;
  readonly reason: string;
  readonly bay: string;
  readonly log: string;
  readonly json?: boolean;
}

/** Appends what the options say, all or nothing. Errors: 256, 401 to 409. */
export function correct(job: string, options: CorrectOptions): Promise<number> {
  const number = jobNumber(job);
  const ledger = openLedger(options.log, { writer: options.bay, now: () => new Date() });
  try {
    const fixtureId = options.fixture ?? stateInLog(ledger, number).fixtures[0]?.identity.fixtureId ?? RULER;
    const events = eventsOf(number, fixtureId, options);
    if (events.length === 0)
      throw numberedError(
        'command not understood',
        'what is to be corrected? `swathplane correct --help` shows it',
      );
    putRight(ledger, number, events);
    if (options.json === true) printJson({ job: number, events });
    else
      print(
        ...events.map((e) => `Job ${number}: ${e.type}`),
        `Go on with: swathplane job --resume ${number}`,
      );
    return Promise.resolve(0);
  } finally {
    ledger.close();
  }
}

function eventsOf(job: number, fixtureId: string, options: CorrectOptions): JobEvent[] {
  const { restore, setAside, tip, turned, item, claim, handOver, offTheMachine, by, reason } = options;
  const named = (what: string) => {
    if (by === '') throw numberedError('name wanted', what);
    return by;
  };
  const why = (what: string) => {
    if (reason === '') throw numberedError('command not understood', `${what} needs --reason`);
    return reason;
  };
  const events: (JobEvent | undefined)[] = [
    options.reopen === undefined
      ? undefined
      : {
          type: 'job reopened',
          job,
          by: named('who opens the job again'),
          reason: why('--reopen'),
          ...(options.readAgain === true ? { toReadAgain: true as const } : {}),
        },
    restore === undefined
      ? undefined
      : { type: 'restored', job, fixtureId, capture: restore, reason: why('--restore') },
    setAside === undefined
      ? undefined
      : { type: 'set aside', job, fixtureId, capture: setAside, reason: why('--set-aside') },
    tip === undefined ? undefined : tipCorrected(job, fixtureId, tip),
    turned === undefined ? undefined : turnCorrected(job, turned),
    item === undefined ? undefined : { type: 'prepared', job, ...itemAnswer(item) },
    claim === undefined ? undefined : { type: 'claim stated', job, ...claimText(claim) },
    handOver === undefined ? undefined : { type: 'handed over', job, to: handOver },
    offTheMachine === undefined
      ? undefined
      : {
          type: 'fixture accounted for',
          job,
          fixtureId: offTheMachine,
          by: named('who has the fixture in hand'),
          reason: why('--off-the-machine'),
        },
    options.giveUp === undefined ? undefined : { type: 'given up', job, reason: why('--give-up') },
  ];
  return events.filter((e) => e !== undefined);
}

function tipCorrected(job: number, fixtureId: string, text: string): JobEvent {
  const [capture, spindle = '', end, heading] = text.split(':');
  const headingDeg = Number(heading);
  if (!/^\d+$/.test(capture ?? '') || (end !== 'A' && end !== 'B') || !Number.isFinite(headingDeg))
    throw numberedError(
      'command not understood',
      `--tip wants capture:spindle:end:heading, as in 12:left:A:90, not '${text}'`,
    );
  return { type: 'tip corrected', job, fixtureId, capture: Number(capture), spindle, headingDeg, end };
}

function turnCorrected(job: number, text: string): JobEvent {
  const [adjuster = '', turns] = text.split(':');
  if (turns === undefined || turns === '' || !Number.isFinite(Number(turns)))
    throw numberedError(
      'command not understood',
      `--turned wants adjuster:turns, as in 'rear left:1.5', not '${text}'`,
    );
  return { type: 'turn corrected', job, adjuster, turns: Number(turns) };
}

function itemAnswer(text: string): { item: string; answer: ItemAnswer } {
  const [item = '', said] = text.split('=');
  if (said === undefined || said === '')
    throw numberedError(
      'command not understood',
      `--item wants id=answer, as in tyre-front=92, not '${text}'`,
    );
  if (said === 'yes' || said === 'no' || said === 'not on this machine') return { item, answer: said };
  const number = Number(said);
  return { item, answer: Number.isFinite(number) ? number : { noted: said } };
}

const FIELDS = ['complaint', 'hour meter', 'delivered on', 'cause', 'correction', 'parts'] as const;

function claimText(text: string): { field: ClaimField; text: string } {
  const at = text.indexOf('=');
  const field = FIELDS.find((f) => f === text.slice(0, at));
  if (field === undefined)
    throw numberedError(
      'command not understood',
      `--claim wants field=text, the field one of ${FIELDS.join(', ')}`,
    );
  return { field, text: text.slice(at + 1) };
}
