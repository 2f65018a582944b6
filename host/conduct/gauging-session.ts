/**
 * Takes a session with the fixture: study, calibration or daily check. Step after step is asked for, captured and kept; what
 * is in the log is not asked again, so that a session goes on after anything.
 */
import type { Body } from '../../protocol/wire/messages';
import { numberedError } from '../errors/errors';
import { degreesMissing, firstPlaceC } from '../gauging/calibration/temperature';
import type { GaugingTarget, SessionOpened } from '../gauging/events';
import { isSound, type Session } from '../gauging/session';
import type { Ledger } from '../ledger/ledger';
import type { Link, LinkOptions } from '../link/link';
import type { FixtureInHand } from './hands';
import { readCalibrations, settleCalibration } from './fixture-calibrations';
import { sessionInLog } from './gauging-in-log';
import { linkTrouble } from './link-trouble';
import { readStep } from './read';

export interface SessionTask {
  readonly target: GaugingTarget;
  /** The step before this one; undefined at the beginning. */
  readonly before: GaugingTarget | undefined;
  readonly step: number;
  readonly of: number;
}

export interface SessionHands {
  /**
   * Brings the fixture where the task says, arms it and triggers. `left out` with a reason when the step cannot be read.
   */
  read(
    task: SessionTask,
    fixture: FixtureInHand,
    over: AbortSignal,
  ): Promise<{ leftOut: string } | undefined>;
}

export interface SessionScreen {
  task(task: SessionTask): void;
  live(live: Body<'live'>): void;
  captured(heightMm: number, capture: Body<'captured'>): void;
  notice(text: string): void;
}

export type OpenSessionLink = (options: Pick<LinkOptions, 'keep' | 'listeners'>) => Promise<Link>;

export interface GaugingOptions {
  readonly ledger: Ledger;
  readonly openLink: OpenSessionLink;
  readonly hands: SessionHands;
  readonly screen: SessionScreen;
}

/** Fixture and calibrations as they are at the beginning: what a session is opened with. */
export interface FixtureAtHand {
  readonly fixture: Body<'identity'>;
  readonly calibrations: readonly Body<'calibration'>[];
  readonly headPosition: 0 | 1;
}

/** What is to be read, and with which calibrations when these are not the ones that the fixture came with. */
export type Beginning = Omit<SessionOpened, 'type' | 'session' | 'fixture' | 'calibrations'> &
  Partial<Pick<SessionOpened, 'calibrations'>>;

/**
 * Opens a session or goes on with one, reads what is left, closes it and hands it to `finish` while the link is open. `begin`
 * says what is to be read of the fixture on the port. Rejects with 475, 482 and what link and log throw; the session stays.
 */
export async function conductGauging<T>(
  options: GaugingOptions,
  begin: number | ((at: FixtureAtHand, link: Link) => Beginning | Promise<Beginning>),
  finish: (session: Session, link: Link) => Promise<T>,
): Promise<T> {
  const { ledger, screen } = options;
  const number = typeof begin === 'number' ? begin : ledger.nextJob();
  const trouble = linkTrouble();
  const link = await options.openLink({
    keep: (capture, { fixtureId }) =>
      trouble.orGiveUp(() => ledger.keepCapture({ type: 'captured', job: number, fixtureId, capture })),
    listeners: {
      live: (live) => screen.live(live),
      error: (error) => screen.notice(error.message),
      garbage: ({ error }) => screen.notice(error.message),
      lost: (error) => screen.notice(error.message),
      back: ({ restarted }) =>
        screen.notice(restarted?.message ?? 'the fixture is back; the session goes on'),
    },
  });
  try {
    for (const sentence of await settleCalibration(ledger, link)) screen.notice(sentence);
    const at = await fixtureAtHand(link);
    if (typeof begin !== 'number') {
      const { fixture, calibrations } = at;
      ledger.appendOfShop({
        type: 'session opened',
        session: number,
        fixture,
        calibrations,
        ...(await begin(at, link)),
      });
    }
    await trouble.unlessMet(readSteps(number, at, link, options));
    const session = openSession(ledger, number);
    if (!session.closed) ledger.appendOfShop({ type: 'session closed', session: number });
    await link.request('disarm', {}).catch(() => {});
    return await finish(openSession(ledger, number), link);
  } finally {
    await link.close();
  }
}

async function readSteps(
  number: number,
  at: FixtureAtHand,
  link: Link,
  { ledger, hands, screen }: GaugingOptions,
): Promise<void> {
  for (;;) {
    const { opened, nextStep: step } = openSession(ledger, number);
    if (opened.fixture.fixtureId !== at.fixture.fixtureId)
      throw numberedError(
        'session of another fixture',
        `${opened.fixture.fixtureId}, not ${at.fixture.fixtureId}`,
      );
    if (step === undefined) return;
    const target = opened.steps[step - 1];
    const task = { target, before: opened.steps[step - 2], step, of: opened.steps.length };
    screen.task(task);
    const purpose = target.kind === 'tip' ? 0 : 1;
    const read = await readStep(link, { job: number, step, purpose }, (fixture, over) =>
      hands.read(task, fixture, over),
    );
    if ('said' in read) {
      ledger.appendOfShop({ type: 'step left out', session: number, step, reason: read.said.leftOut });
      continue;
    }
    const { capture } = read;
    if (!isSound(capture, opened.calibrations))
      throw numberedError('height mismatch', `capture ${capture.capture} of fixture ${at.fixture.fixtureId}`);
    screen.captured(capture.height / 1000, capture);
    const missing = degreesMissing(target, capture, firstPlaceC(openSession(ledger, number).readings));
    if (missing > 0) screen.notice(tooNearText(capture, missing));
  }
}

function tooNearText({ temperature }: Body<'captured'>, missing: number): string {
  return `${(temperature / 100).toFixed(1)} °C: ${missing.toFixed(1)} degrees too near the readings before; leave fixture and master there longer, this one is read again`;
}

function openSession(ledger: Ledger, number: number): Session {
  const session = sessionInLog(ledger, number);
  if (session === undefined) throw numberedError('no such session', `session ${number}`);
  return session;
}

async function fixtureAtHand(link: Link): Promise<FixtureAtHand> {
  const calibrations = await readCalibrations(link);
  const { headPosition } = await link.request('report-status', {});
  return { fixture: link.identity(), calibrations, headPosition: headPosition === 1 ? 1 : 0 };
}
