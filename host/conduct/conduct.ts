/**
 * Carries a job out: asks the procedure for the one thing to do, has the hands do it, and appends what happened to the
 * ledger. Everything that it knows it reads back from there, so that a job goes on after a crash as if nothing had been.
 */
import type { Body } from '../../protocol/wire/messages';
import { numberedError, type NumberedError } from '../errors/errors';
import type { Ledger } from '../ledger/ledger';
import type { Program } from '../ledger/program';
import type { Link, LinkOptions } from '../link/link';
import type { Listeners } from '../link/notices';
import { assessedEvent, eventsFor, type AnswerTo } from '../procedure/answer';
import { assess } from '../procedure/assess';
import { fixturesInHand, onBlade } from '../procedure/fixtures';
import type { JobState } from '../procedure/state';
import { nextTask, settingOf, type Task } from '../procedure/task';
import { claimOffers } from '../views/claim-view';
import { stageView } from '../views/stage-view';
import type { Hands, Question, SaidTo, Screen } from './hands';
import { takeInHand, type JobInHand } from './job-in-hand';
import { linkTrouble, type LinkTrouble } from './link-trouble';
import { readCalibrations, settleCalibration } from './fixture-calibrations';
import { readWithFixture } from './read';
import { watchWithFixture } from './watch';

export interface ConductOptions {
  readonly ledger: Ledger;
  /** An open job of the ledger. */
  readonly job: number;
  /**
   * Each opens the link to one fixture; the job gives the keeping of captures and the listeners. None: the tips are read
   * with a ruler, or only what needs no fixture is done.
   */
  readonly openLinks: readonly ((options: Pick<LinkOptions, 'keep' | 'listeners'>) => Promise<Link>)[];
  readonly hands: Hands;
  readonly screen: Screen;
  /** What decides, as it is kept with the record; without it the record's results cannot be reproduced from it. */
  readonly solver?: Program;
}

/**
 * Works the job until it is closed. Rejects with a NumberedError when it cannot go on (no fixture, log not writable,
 * height mismatch); the job stays open in the ledger and can be gone on with.
 */
export async function conductJob(options: ConductOptions): Promise<JobState> {
  const { ledger, job, screen, solver } = options;
  const inHand = takeInHand(ledger, job, (state) => screen.job?.(state));
  if (solver !== undefined && inHand.state().closed === undefined) ledger.noteSolver(job, solver);
  const trouble = linkTrouble();
  const links: Link[] = [];
  try {
    for (const open of options.openLinks) {
      const link: Link = await open({
        keep: (capture, identity) => trouble.orGiveUp(() => inHand.keep(capture, identity)),
        listeners: listenersOf(options, inHand, trouble, () => link.identity().fixtureId),
      });
      links.push(link);
    }
    for (const link of links) {
      for (const sentence of await settleCalibration(ledger, link)) screen.notice(sentence);
      await trouble.unlessMet(joinFixture(inHand, link));
    }
    noteAbsent(inHand, links);
    for (;;) {
      for (const link of links) {
        const isLost = inHand.state().lost.includes(link.identity().fixtureId);
        if (isLost && link.connected()) await joinFixture(inHand, link);
      }
      const task = nextTask(inHand.state());
      if (task.do === 'nothing') return inHand.state();
      screen.task(task);
      await trouble.unlessMet(carryOut(task, inHand, links, options));
      if (task.do === 'read' && !staysOnBlade(nextTask(inHand.state()))) await rest(links);
    }
  } catch (error) {
    if (onBlade(inHand.state())) screen.notice(ON_BLADE);
    throw error;
  } finally {
    for (const link of links) await link.close();
  }
}

/** What the events of a link mean for the job. `fixtureId`: of the fixture on it. */
function listenersOf(
  { ledger, job, screen, hands }: ConductOptions,
  inHand: JobInHand,
  trouble: LinkTrouble,
  fixtureId: () => string,
): Listeners {
  return {
    live: (live) => {
      screen.live(live);
      hands.sees?.(live);
    },
    error: (error) => screen.notice(error.message),
    garbage: ({ error }) => screen.notice(error.message),
    happened: ({ what }) => what === BUTTON && hands.pressed?.(),
    missing: ({ captures }) => {
      trouble.orGiveUp(() =>
        ledger.appendOfShop({ type: 'captures elsewhere', fixtureId: fixtureId(), captures }),
      );
      screen.notice(`captures ${captures.join(', ')} were fetched by another computer`);
    },
    lost: (error) => {
      screen.heard?.(fixtureId(), false);
      try {
        trouble.orGiveUp(() => noteLoss(inHand, fixtureId(), screen, error));
      } catch {
        // The job is told; the port's own event goes on.
      }
    },
    back: ({ identity, restarted }) => {
      const { bootCount } = identity;
      screen.heard?.(identity.fixtureId, true);
      if (restarted !== undefined)
        trouble.orGiveUp(() =>
          ledger.append({ type: 'fixture restarted', job, fixtureId: identity.fixtureId, bootCount }),
        );
      screen.notice(restarted?.message ?? 'the fixture is back; the job goes on');
    },
    captured: ({ capture, kept }) => {
      if (kept === 'kept' && capture.job !== job) {
        const about = `capture ${capture.capture} of job ${capture.job}`;
        screen.notice(numberedError('capture of another job', about).message);
      } else if (capture.step === NO_STEP) hands.pressed?.();
    },
  };
}

/** The step under which a capture belongs to no reading: the button was pressed to answer. */
const NO_STEP = 0;
/** Of the table of happenings. */
const BUTTON = 0;

const ON_BLADE = 'FIXTURE ON BLADE: do not start';

/** True when the next thing is to turn the blade with the fixture on it and read again. */
function staysOnBlade(task: Task): boolean {
  return task.do === 'read' && !task.reclamp;
}

/** Laser off while hands are at the blades. A fixture that cannot be asked now turns it off by itself. */
async function rest(links: readonly Link[]): Promise<void> {
  for (const link of links) await link.request('disarm', {}).catch(() => {});
}

async function carryOut(
  task: Task,
  inHand: JobInHand,
  links: readonly Link[],
  { hands, screen, job }: ConductOptions,
): Promise<void> {
  switch (task.do) {
    case 'join fixture': {
      const [link] = links;
      if (link === undefined) throw numberedError('no fixture found');
      return joinFixture(inHand, link);
    }
    case 'read': {
      const link = linkTo(links, task.fixtureId);
      const reading = await readWithFixture(task, inHand, link, hands, screen);
      return reading && checkHeight(inHand.state(), link.identity().fixtureId, reading);
    }
    case 'assess': {
      const setting = settingOf(inHand.state());
      inHand.record(assessedEvent(task, inHand.state()));
      return screen.assessed(stageView(inHand.state(), setting, assess(inHand.state(), setting)));
    }
    case 'close':
      return inHand.record({ type: 'job closed', job, decision: task.decision });
    case 'nothing':
      return;
    default: {
      const answer = await answered(task, inHand, links, hands);
      for (const event of eventsFor(task, answer, inHand.state())) inHand.record(event);
    }
  }
}

/** The answer to a question, with the heights that a fixture showed meanwhile where that is what was asked for. */
async function answered<Q extends Question>(
  question: Q,
  inHand: JobInHand,
  links: readonly Link[],
  hands: Hands,
): Promise<AnswerTo<Q>> {
  const ask = () => hands.answer<Q>(question, offersFor(question, inHand.state()));
  const isWatched =
    question.do === 'push and pull' || (question.do === 'turn' && question.live?.startMm !== undefined);
  if (!isWatched) return (await ask()) as AnswerTo<Q>;
  const state = inHand.state();
  const link = linkTo(links, state.steps[state.lastStep]?.fixtureId);
  const { said, lowMm, highMm } = await watchWithFixture<SaidTo<Q>>(link, state.job, NO_STEP, ask);
  if (question.do === 'turn' || said === 'not now') return said as AnswerTo<Q>;
  return { lowMm, highMm } as AnswerTo<Q>;
}

function offersFor(question: Question, state: JobState): readonly string[] | undefined {
  return question.do === 'state claim' ? claimOffers(state, question.field) : undefined;
}

/** The fixture that a step wants; the only one where the step does not say. */
function linkTo(links: readonly Link[], fixtureId: string | undefined): Link {
  const link = fixtureId === undefined ? links[0] : links.find((l) => l.identity().fixtureId === fixtureId);
  if (link === undefined) throw numberedError('fixture wanted', fixtureId ?? '');
  return link;
}

/** Fixtures of the job that nobody plugged in this time count as lost until they are heard. */
function noteAbsent(inHand: JobInHand, links: readonly Link[]): void {
  const here = links.map((l) => l.identity().fixtureId);
  const { job, lost } = inHand.state();
  for (const fixtureId of fixturesInHand(inHand.state())) {
    if (here.includes(fixtureId) || lost.includes(fixtureId)) continue;
    inHand.record({ type: 'fixture lost', job, fixtureId, error: numberedError('fixture wanted').number });
  }
}

/** Puts the fixture and its calibrations on the record. A head position without calibration is left out. */
export async function joinFixture(inHand: JobInHand, link: Link): Promise<void> {
  const calibrations = await readCalibrations(link);
  inHand.record({ type: 'fixture joined', job: inHand.state().job, fixture: link.identity(), calibrations });
}

function noteLoss(inHand: JobInHand, fixtureId: string, screen: Screen, error: NumberedError): void {
  inHand.record({ type: 'fixture lost', job: inHand.state().job, fixtureId, error: error.number });
  screen.notice(error.message);
  if (onBlade(inHand.state())) screen.notice(ON_BLADE);
}

/** The host computes every height again from the raw reading; a fixture that says another is not to be used. */
function checkHeight(state: JobState, fixtureId: string, { capture, height }: Body<'captured'>): void {
  const reading = state.readings.find((r) => r.fixtureId === fixtureId && r.number === capture);
  if (reading?.by === 'fixture' && reading.calibration !== undefined) return;
  throw numberedError(
    'height mismatch',
    `capture ${capture} of fixture ${fixtureId}: no calibration on record gives its ${height} um`,
  );
}
