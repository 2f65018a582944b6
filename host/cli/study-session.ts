/** Studies taken with the fixture: their order, taking them, what the log holds, accepting one. */
import { acceptReadings, acceptSession } from '../conduct/accept-study';
import { largeEnough, studyBegins } from '../conduct/gauging-plans';
import { conductGauging, type FixtureAtHand } from '../conduct/gauging-session';
import { sessionInLog, sessionsInLog } from '../conduct/gauging-in-log';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import type { SessionOpened } from '../gauging/events';
import type { Session } from '../gauging/session';
import { studySteps, type StudyPlan } from '../gauging/study/plan';
import { studyReadings } from '../gauging/study/of-session';
import { tableText } from '../terminal/table-text';
import { acceptedStudyLines } from '../views/gauging-words';
import { jobNumber } from './job-number';
import { withFixture, type SessionOptions } from './gauging-set-up';
import { print, printJson } from './output';
import { analyse, readStudy, showBias, type StudyCommandOptions } from './study';
import { reading, writing } from './with-log';

export interface PlanOptions {
  readonly tips: string;
  readonly technicians: string;
  readonly repeats: number;
  readonly seed: number;
  readonly json?: boolean;
}

/** The order as it would be asked for, and as a file to be filled in by hand. Errors: 473. */
export function planStudy(options: PlanOptions): Promise<number> {
  const steps = studySteps(planOf(options));
  if (options.json === true) printJson({ ...planOf(options), steps });
  else {
    print(
      `# ${steps.length} clampings in this order, seed ${options.seed}; write the reading in mm behind each`,
      'part,operator,trial,value',
      ...steps.map((s) => `${s.tip},${s.technician},${s.repeat},`),
    );
  }
  return Promise.resolve(0);
}

/** Errors: 473, 475, 482, 483 and those of link and log. */
export function takeStudy(options: PlanOptions & SessionOptions): Promise<number> {
  return withFixture(options, async (gauging, say) => {
    const by = {
      on: today(),
      technician: options.technician,
      simulated: options.simulated !== undefined,
    };
    const plan =
      options.resume ?? ((at: FixtureAtHand) => studyBegins(gauging.ledger, by, planOf(options), at));
    return conductGauging(gauging, plan, (session) => {
      const number = session.opened.session;
      if (options.json === true) printJson({ session: number, readings: studyReadings(session) });
      else
        say(
          `Study ${number} is complete: swathplane study --session ${number} --log ${options.log} shows it, study accept ${number} counts with it`,
        );
      return Promise.resolve(0);
    });
  });
}

/** Analyses a study of the log. Errors: 472, 473, 475. */
export function sessionStudy(
  session: string,
  options: StudyCommandOptions & { log: string },
): Promise<number> {
  return analyse(
    reading(options, (ledger) => studyReadings(found(sessionInLog(ledger, jobNumber(session)), session))),
    options,
  );
}

/**
 * Fixtures against each other: from a file (part, fixture, trial, value), or from studies that each took of the same tips.
 * Errors: 403, 405, 470 to 473, 475.
 */
export function studyBias(
  file: string | undefined,
  options: {
    readonly sessions?: readonly string[];
    readonly log: string;
    readonly confidence: number;
    readonly json?: boolean;
  },
): Promise<number> {
  const { sessions } = options;
  if ((file === undefined) === (sessions === undefined))
    throw numberedError('command not understood', 'study bias needs a file or --sessions');
  if (sessions === undefined) return showBias(readStudy(file ?? ''), options);
  const readings = reading(options, (ledger) =>
    sessions.flatMap((number) => {
      const session = found(sessionInLog(ledger, jobNumber(number)), number);
      return studyReadings(session).map((r) => ({
        ...r,
        operator: session.opened.fixture.fixtureId,
        trial: `${number} ${r.operator} ${r.trial}`,
      }));
    }),
  );
  return showBias(readings, options);
}

/** What sessions of one use the log holds. */
export function listSessions(
  use: SessionOpened['use'],
  options: { readonly log: string; readonly json?: boolean },
): Promise<number> {
  const sessions = reading(options, sessionsInLog).filter((s) => s.opened.use === use);
  const rows = sessions.map((s) => ({
    session: s.opened.session,
    on: s.opened.on,
    fixture: s.opened.fixture.fixtureId,
    technician: s.opened.technician,
    read: s.readings.length,
    of: s.opened.steps.length,
    state: s.closed ? 'complete' : 'open',
  }));
  if (options.json === true) printJson(rows);
  else if (rows.length === 0) print('none in this log');
  else
    print(
      ...tableText({
        title: use,
        head: ['session', 'on', 'fixture', 'technician', 'read', 'of', ''],
        rows: rows.map((r) => Object.values(r).map(String)),
      }),
    );
  return Promise.resolve(0);
}

/** From a session of the log, or from a file with heights in mm. Errors: 470 to 473, 475, 476. */
export function acceptStudy(
  what: string,
  options: { readonly by: string; readonly bay: string; readonly log: string; readonly json?: boolean },
): Promise<number> {
  const width = writing(options, (ledger) =>
    /^\d+$/.test(what)
      ? acceptSession(ledger, Number(what), options.by)
      : acceptReadings(ledger, readStudy(what), what.replace(/^.*[/\\]/, ''), options.by),
  );
  if (options.json === true) printJson(width);
  else print(...acceptedStudyLines(width));
  return Promise.resolve(0);
}

function found(session: Session | undefined, what: string): Session {
  if (session === undefined || session.opened.use !== 'study')
    throw numberedError('no such session', `no study ${what}`);
  return session;
}

function planOf({ tips, technicians, repeats, seed }: PlanOptions): StudyPlan {
  const names = (text: string) => [
    ...new Set(
      text
        .split(',')
        .map((t) => t.trim())
        .filter((t) => t !== ''),
    ),
  ];
  const plan = { tips: names(tips), technicians: names(technicians), repeats, seed };
  return largeEnough(plan);
}
