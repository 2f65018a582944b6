/**
 * Carries a job out: asks the procedure for the one thing to do, has the hands do it, and appends what happened to the
 * ledger. Everything that it knows it reads back from there, so that a job goes on after a crash as if nothing had been.
 */
import type { Body } from '../../protocol/wire/messages';
import { numberedError, type NumberedError } from '../errors/errors';
import type { JobEvent } from '../ledger/events';
import type { Ledger } from '../ledger/ledger';
import type { Link, LinkOptions } from '../link/link';
import { refusal } from '../procedure/admit';
import { assess } from '../procedure/assess';
import { learnedGains } from '../procedure/learning';
import { apply, currentSetting, replay, type JobState } from '../procedure/state';
import { nextTask, onBlade, type Task } from '../procedure/task';
import { stageView } from '../views/stage-view';
import type { Hands, Screen } from './hands';
import type { JobInHand } from './job-in-hand';
import { readWithFixture } from './read';

export interface ConductOptions {
  readonly ledger: Ledger;
  /** An open job of the ledger. */
  readonly job: number;
  /** Opens the link to the fixture; the job gives the keeping of captures and the listeners. */
  readonly openLink: (options: Pick<LinkOptions, 'keep' | 'listeners'>) => Promise<Link>;
  readonly hands: Hands;
  readonly screen: Screen;
}

export type JobDetails = Omit<Extract<JobEvent, { type: 'job opened' }>, 'type' | 'job' | 'use' | 'learned'>;

/** Past jobs that are looked through for what they teach: the newest ones. */
const JOBS_LEARNED_FROM = 200;

/** Opens a levelling job in the ledger, with what the log's past jobs teach of the machine, and gives its number. */
export function openJob(ledger: Ledger, details: JobDetails): number {
  const past = ledger
    .jobs()
    .filter((j) => j.model === details.profile.model)
    .slice(-JOBS_LEARNED_FROM);
  const learned = learnedGains(
    past.map(({ job }) => ledger.events(job).map((e) => e.event)),
    details,
  );
  const job = ledger.nextJob();
  ledger.append({
    type: 'job opened',
    job,
    use: 'levelling',
    sequence: 'quick',
    ...details,
    ...(learned === undefined ? {} : { learned }),
  });
  return job;
}

/**
 * Works the job until it is closed. Rejects with a NumberedError when it cannot go on (no fixture, log not writable,
 * height mismatch); the job stays open in the ledger and can be gone on with.
 */
export async function conductJob(options: ConductOptions): Promise<JobState> {
  const { ledger, job, screen } = options;
  let state = replay(ledger.events(job).map((e) => e.event));
  if (state === undefined) throw numberedError('no such job', `job ${job}`);
  const inHand: JobInHand = {
    state: () => state as JobState,
    record: (event) => {
      const refused = refusal(state, event);
      if (refused !== undefined) throw refused;
      ledger.append(event);
      state = apply(state, event);
    },
  };
  // What goes wrong in the link's own events ends the job, not the process: the log cannot be written, for instance.
  let giveUp: (trouble: Error) => void = () => {};
  const trouble = new Promise<never>((_, reject) => (giveUp = reject));
  trouble.catch(() => {});
  const orGiveUp = <T>(action: () => T): T => {
    try {
      return action();
    } catch (error) {
      giveUp(error as Error);
      throw error;
    }
  };
  const link: Link = await options.openLink({
    keep: (capture, identity) =>
      orGiveUp(() => {
        const event = { type: 'captured', job, fixtureId: identity.fixtureId, capture } as const;
        const kept = ledger.keepCapture(event);
        if (kept === 'kept') state = apply(state, event);
        return kept;
      }),
    listeners: {
      live: (live) => screen.live(live),
      error: (error) => screen.notice(error.message),
      garbage: ({ error }) => screen.notice(error.message),
      missing: ({ captures }) =>
        screen.notice(`captures ${captures.join(', ')} were fetched by another computer`),
      lost: (error) => {
        try {
          orGiveUp(() => noteLoss(inHand, link, screen, error));
        } catch {
          // The job is told; the port's own event goes on.
        }
      },
      back: ({ restarted }) => screen.notice(restarted?.message ?? 'the fixture is back; the job goes on'),
      captured: ({ capture, kept }) => {
        if (kept === 'kept' && capture.job !== job) {
          screen.notice(
            numberedError('capture of another job', `capture ${capture.capture} of job ${capture.job}`)
              .message,
          );
        }
      },
    },
  });
  try {
    await Promise.race([joinFixture(inHand, link), trouble]);
    for (;;) {
      if (inHand.state().lost.length > 0 && link.connected()) await joinFixture(inHand, link);
      const task = nextTask(inHand.state());
      if (task.do === 'nothing') return inHand.state();
      screen.task(task);
      await Promise.race([carryOut(task, inHand, link, options), trouble]);
      if (task.do === 'read' && !staysOnBlade(nextTask(inHand.state()))) await rest(link);
    }
  } catch (error) {
    if (onBlade(inHand.state())) screen.notice(ON_BLADE);
    throw error;
  } finally {
    await link.close();
  }
}

const ON_BLADE = 'FIXTURE ON BLADE: do not start';

/** True when the next thing is to turn the blade with the fixture on it and read again. */
function staysOnBlade(task: Task): boolean {
  return task.do === 'read' && !task.reclamp;
}

/** Laser off while hands are at the blades. A fixture that cannot be asked now turns it off by itself. */
async function rest(link: Link): Promise<void> {
  await link.request('disarm', {}).catch(() => {});
}

async function carryOut(
  task: Task,
  inHand: JobInHand,
  link: Link,
  { hands, screen, job }: ConductOptions,
): Promise<void> {
  switch (task.do) {
    case 'confirm cautions':
      await hands.answer(task);
      return inHand.record({ type: 'cautions confirmed', job, cautions: task.cautions });
    case 'prepare':
      return inHand.record({ type: 'prepared', job, item: task.item.id, answer: await hands.answer(task) });
    case 'expired floor':
      return inHand.record({ type: 'expired floor', job, answer: await hands.answer(task) });
    case 'shim wheels':
      return inHand.record({ type: 'wheels shimmed', job, shim: await hands.answer(task) });
    case 'join fixture':
      return joinFixture(inHand, link);
    case 'seat deck':
      await hands.answer(task);
      return inHand.record({ type: 'deck seated', job, seating: task.seating });
    case 'feel hanger':
      return inHand.record({
        type: 'hanger felt',
        job,
        hanger: task.hanger,
        state: await hands.answer(task),
      });
    case 'take up':
      await hands.answer(task);
      return inHand.record({ type: 'taken up', job, hanger: task.hanger });
    case 'read': {
      const reading = await readWithFixture(task, inHand, link, hands, screen);
      return checkHeight(inHand.state(), link.identity().fixtureId, reading);
    }
    case 'check reading': {
      const which = { job, fixtureId: task.reading.fixtureId, capture: task.reading.capture.capture };
      const answer = await hands.answer(task);
      return inHand.record(
        answer === 'uphold'
          ? { type: 'upheld', ...which }
          : { type: 'set aside', ...which, reason: answer.setAside },
      );
    }
    case 'assess': {
      const { decision, jointProbability } = task.assessment.result;
      const setting = currentSetting(inHand.state());
      if (setting === undefined) return;
      inHand.record({ type: 'assessed', job, stage: setting.stage, decision, jointProbability });
      return screen.assessed(stageView(inHand.state(), setting, assess(inHand.state(), setting)));
    }
    case 'turn':
      await hands.answer(task);
      return inHand.record({ type: 'turned', job, adjuster: task.adjuster.name, turns: task.turns });
    case 'refit blade':
      return inHand.record({
        type: 'blade refitted',
        job,
        spindle: task.spindle,
        answer: await hands.answer(task),
      });
    case 'check turning':
      return inHand.record({ type: 'turning checked', job, found: await hands.answer(task) });
    case 'tighten':
      await hands.answer(task);
      return inHand.record({ type: 'tightened', job });
    case 'close':
      return inHand.record({ type: 'job closed', job, decision: task.decision });
    case 'nothing':
      return;
  }
}

/** Puts the fixture and its calibrations on the record. A head position without calibration is left out. */
export async function joinFixture(inHand: JobInHand, link: Link): Promise<void> {
  const calibrations: Body<'calibration'>[] = [];
  for (const headPosition of [0, 1]) {
    try {
      calibrations.push(await link.request('read-calibration', { headPosition }));
    } catch (error) {
      if ((error as NumberedError).number !== NO_CALIBRATION) throw error;
    }
  }
  inHand.record({ type: 'fixture joined', job: inHand.state().job, fixture: link.identity(), calibrations });
}

const NO_CALIBRATION = 109;

function noteLoss(inHand: JobInHand, link: Link, screen: Screen, error: NumberedError): void {
  inHand.record({
    type: 'fixture lost',
    job: inHand.state().job,
    fixtureId: link.identity().fixtureId,
    error: error.number,
  });
  screen.notice(error.message);
  if (onBlade(inHand.state())) screen.notice(ON_BLADE);
}

/** The host computes every height again from the raw reading; a fixture that says another is not to be used. */
function checkHeight(state: JobState, fixtureId: string, { capture, height }: Body<'captured'>): void {
  const reading = state.readings.find((r) => r.fixtureId === fixtureId && r.capture.capture === capture);
  if (reading?.calibration !== undefined) return;
  throw numberedError(
    'height mismatch',
    `capture ${capture} of fixture ${fixtureId}: no calibration on record gives its ${height} um`,
  );
}
