/**
 * Checks, studies and calibrations at the desk: one at a time and never beside a job, for there is one fixture. Steps are
 * asked like the questions of a job; what was read is in the log, so that a session goes on after anything.
 */
import { z } from 'zod';
import {
  conductGauging,
  type FixtureAtHand,
  type SessionHands,
  type SessionTask,
} from '../conduct/gauging-session';
import { acceptSession } from '../conduct/accept-study';
import { writeRecord } from '../conduct/fixture-calibrations';
import { calibrationBegins, checkBegins, studyBegins } from '../conduct/gauging-plans';
import { historiesInLog } from '../conduct/gauging-in-log';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import { calibrate } from '../gauging/calibration/solve';
import type { Session } from '../gauging/session';
import type { Ledger } from '../ledger/ledger';
import type { Link } from '../link/link';
import type { Body } from '../../protocol/wire/messages';
import { gaugingStepText } from '../views/gauging-words';
import { acceptedResult, calibrationResult, checkResult, studyResult } from '../views/session-result';
import { SESSION_TITLES, type SessionPart, type SessionResult } from '../views/session-part';
import type { Ways } from '../views/ways';
import type { Asking } from './asking';
import type { Bench } from './bench';
import { captureAsked } from './person';
import type { BeginWork, UnlessLeft, Work } from './work';

const name = z.string().trim().min(1).max(60);

export const sessionOrderSchema = z.discriminatedUnion('use', [
  z.strictObject({ use: z.literal('check'), technician: z.string().max(60) }),
  z.strictObject({
    use: z.literal('study'),
    technician: z.string().max(60),
    tips: z.array(name).max(30),
    technicians: z.array(name).max(10),
    repeats: z.number().int().min(1).max(10),
    /** Of the order in which they are asked. */
    seed: z.number().int().min(0).max(999_999_999),
  }),
  z.strictObject({
    use: z.literal('calibration'),
    technician: z.string().max(60),
    /** For how many days it counts. */
    days: z.number().int().min(1).max(3650),
    /** Some heights are read again where it is warmer or colder. */
    temperature: z.boolean().optional(),
  }),
]);

export type SessionOrder = z.infer<typeof sessionOrderSchema>;

export interface Sessions {
  part(): SessionPart | null;
  /** Throws 511. */
  begin(order: SessionOrder): void;
  /** What it could not go on for is tried again. */
  goOn(): void;
  /** Jobs opened from now on count with the study that was just taken. Throws 475 where there is none, and 472, 473 and 476. */
  accept(): void;
  /** Lays it aside, or away when it is done; what was read stays in the log. */
  leave(): Promise<void>;
}

export interface SessionsOptions {
  readonly ledger: Ledger;
  readonly bench: Bench;
  readonly asking: Asking;
  readonly begin: BeginWork;
  readonly notice: (text: string) => void;
  readonly changed: () => void;
  readonly live: (live: Body<'live'>, fixtureId: string) => void;
}

interface Run {
  readonly order: SessionOrder;
  session: number | undefined;
  task: SessionTask | undefined;
  fixtureId: string;
  readings: SessionPart['readings'];
  done: SessionResult | undefined;
  readonly work: Work;
}

export function sessionsAt(options: SessionsOptions): Sessions {
  const { ledger, bench, asking, notice, changed, live } = options;
  let run: Run | undefined;

  const conduct = async (mine: Run, unlessLeft: UnlessLeft): Promise<SessionResult> => {
    const number = mine.session ?? ledger.nextJob();
    const at = await bench.sit(number);
    const hands = at.around(personAtSession(asking, notice));
    try {
      const begin =
        mine.session ??
        ((fixture: FixtureAtHand, link: Link) => {
          mine.fixtureId = fixture.fixture.fixtureId;
          return beginningOf(mine.order, fixture, link);
        });
      return await conductGauging(
        {
          ledger,
          openLink: at.openLink,
          hands: {
            read: (task, fixture, over) => unlessLeft(hands.read(task, fixture, over)),
          },
          screen: {
            task: (task) => {
              // It stands in the log by now, and is gone on with under its number.
              mine.session = number;
              mine.task = task;
              changed();
            },
            live: (part) => live(part, mine.fixtureId),
            captured: (heightMm) => {
              const { task } = mine;
              const text = task === undefined ? '' : gaugingStepText(task.target, task.before);
              mine.readings = [...mine.readings, { text, heightMm }];
              changed();
            },
            notice,
          },
        },
        begin,
        (session, link) => resultOf(session, link),
      );
    } finally {
      at.close();
    }
  };

  const beginningOf = (order: SessionOrder, at: FixtureAtHand, link: Link) => {
    const by = { on: today(), technician: order.technician, simulated: bench.simulated };
    switch (order.use) {
      case 'check':
        return checkBegins(ledger, by, at);
      case 'study':
        return studyBegins(ledger, by, order, at);
      case 'calibration': {
        const { days, temperature = false } = order;
        return calibrationBegins(ledger, by, at, link, { days, temperature }, notice);
      }
    }
  };

  const resultOf = async (session: Session, link: Link): Promise<SessionResult> => {
    const { use, fixture } = session.opened;
    switch (use) {
      case 'check': {
        const history = historiesInLog(ledger).find((h) => h.fixtureId === fixture.fixtureId);
        return checkResult(history?.checks ?? [], today());
      }
      case 'study':
        return studyResult(session);
      case 'calibration': {
        const record = calibrate(session);
        await writeRecord(ledger, link, session.opened.session, record);
        return calibrationResult(session.opened.session, record);
      }
    }
  };

  return {
    part: () => (run === undefined ? null : partOf(run, asking)),
    begin: (order) => {
      const mine: Run = {
        order,
        session: undefined,
        task: undefined,
        fixtureId: '',
        readings: [],
        done: undefined,
        work: options.begin(async (unlessLeft) => {
          mine.done = await conduct(mine, unlessLeft);
        }, changed),
      };
      run = mine;
      changed();
    },
    goOn: () => run?.work.goOn(),
    accept: () => {
      if (run?.session === undefined || run.done?.mayAccept !== true)
        throw numberedError('no such session', 'no study to accept');
      run.done = acceptedResult(run.done, acceptSession(ledger, run.session, run.order.technician));
      changed();
    },
    leave: async () => {
      const left = run;
      await left?.work.leave();
      if (run === left) run = undefined;
      changed();
    },
  };
}

function partOf(run: Run, asking: Asking): SessionPart {
  const { order, session, task, readings, work, done } = run;
  return {
    session: session ?? null,
    use: order.use,
    title: SESSION_TITLES[order.use],
    technician: order.technician,
    step: task?.step ?? 0,
    of: task?.of ?? 0,
    question: done === undefined ? (asking.current() ?? null) : null,
    readings,
    trouble: work.trouble() ?? null,
    done: done ?? null,
  };
}

const CAPTURE: Ways = {
  choices: [
    { keys: ['return'], text: 'capture', answer: 'capture' },
    { keys: ['x'], text: 'leave this one out', answer: 'left out' },
  ],
};

function personAtSession(asking: Asking, notice: (text: string) => void): SessionHands {
  return {
    read: async (task, fixture, over) => {
      const say = gaugingStepText(task.target, task.before);
      const aside = `${task.step} of ${task.of}`;
      const asked = { asks: 'read', words: { say, aside }, ways: CAPTURE, live: true } as const;
      const instead = await captureAsked(asking, notice, asked, fixture, over);
      return instead === 'left out' ? { leftOut: 'left out by the technician' } : undefined;
    },
  };
}
