/** One reading: the hands bring the fixture, arm it for the step and trigger; it ends when the capture is safe. */
import type { Body } from '../../protocol/wire/messages';
import { NumberedError } from '../errors/errors';
import type { StepTarget } from '../ledger/events';
import type { Link } from '../link/link';
import { askedEvent } from '../procedure/answer';
import type { JobInHand } from './job-in-hand';
import type { FixtureInHand, Hands, ReadTask, Screen } from './hands';

/** Live heights a second, and how good a mean has to be. The standard error of one capture is far below the clamp's. */
const LIVE_HZ = 10;
const STANDARD_ERROR_UM = 20;

/** Resolves with the capture when it is on the disk, whatever happens to cable, power or program in between. */
export async function readWithFixture(
  task: ReadTask,
  inHand: JobInHand,
  link: Link,
  hands: Hands,
  screen: Screen,
): Promise<Body<'captured'>> {
  const asked = askedEvent(task, inHand.state());
  const { job, step } = asked;
  inHand.record(asked);
  const watch = watchFor(link, job, step);
  const fixture: FixtureInHand = {
    arm: () => untilConnected(link, () => arm(link, job, step, task.target)),
    capture: () => untilConnected(link, () => capture(link)),
  };
  try {
    for (;;) {
      const over = new AbortController();
      const asked = hands.read(task, fixture, over.signal);
      const outcome = await Promise.race([
        watch.captured,
        watch.interrupted(),
        asked.then(() => watch.captured),
      ]);
      over.abort();
      if (outcome !== 'again') {
        screen.captured(outcome.height / 1000, outcome);
        return outcome;
      }
    }
  } finally {
    watch.stop();
  }
}

async function arm(link: Link, job: number, step: number, target: StepTarget): Promise<void> {
  const purpose = target.kind !== 'master' ? 0 : target.edge === 'low' ? 1 : 2;
  await link.request('arm', { job, step, purpose, liveHz: LIVE_HZ, standardErrorUm: STANDARD_ERROR_UM });
}

async function capture(link: Link): Promise<void> {
  await link.request('capture', {});
}

/**
 * Listens for this step's capture, and for what makes it necessary to ask again: the fixture could not settle, or came
 * back after the cable was out or after a restart.
 */
function watchFor(link: Link, job: number, step: number) {
  let again: (outcome: 'again') => void = () => {};
  let found: (capture: Body<'captured'>) => void = () => {};
  const captured = new Promise<Body<'captured'>>((resolve) => (found = resolve));
  const stops = [
    link.on('captured', ({ capture }) => {
      if (capture.job === job && capture.step === step) found(capture);
    }),
    link.on('error', (error) => {
      if (error.number >= 100 && error.number < 200) again('again');
    }),
    link.on('back', () => again('again')),
  ];
  return {
    captured,
    interrupted: () => new Promise<'again'>((resolve) => (again = resolve)),
    stop: () => stops.forEach((stop) => stop()),
  };
}

/** Does something with the fixture; when the cable is out, waits until the link has it back and does it again. */
async function untilConnected<T>(link: Link, action: () => Promise<T>): Promise<T> {
  for (;;) {
    try {
      return await action();
    } catch (error) {
      const gone = error instanceof NumberedError && (error.number === 205 || error.number === 206);
      if (!gone) throw error;
      if (link.connected()) continue;
      await new Promise<void>((resolve) => {
        const stop = link.on('back', () => {
          stop();
          resolve();
        });
      });
    }
  }
}
