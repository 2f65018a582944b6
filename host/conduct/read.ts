/** One reading: the hands bring the fixture, arm it for the step and trigger; it ends when the capture is safe. */
import type { Body } from '../../protocol/wire/messages';
import { NumberedError } from '../errors/errors';
import type { Link } from '../link/link';
import { askedEvent } from '../procedure/answer';
import type { JobInHand } from './job-in-hand';
import type { FixtureInHand, Hands, ReadTask, Screen } from './hands';

/** Live heights a second, and how good a mean has to be. The standard error of one capture is far below the clamp's. */
const LIVE_HZ = 20;
const STANDARD_ERROR_UM = 20;

/**
 * Resolves with the capture when it is on the disk, whatever happens to cable, power or program in between; undefined when
 * the fixture was clamped anew instead, which is recorded.
 */
export async function readWithFixture(
  task: ReadTask,
  inHand: JobInHand,
  link: Link,
  hands: Hands,
  screen: Screen,
): Promise<Body<'captured'> | undefined> {
  const asked = askedEvent(task, inHand.state());
  const { job, step } = asked;
  inHand.record(asked);
  const { target } = task;
  const purpose = target.kind !== 'master' ? 0 : target.edge === 'low' ? 1 : 2;
  const read = await readStep(link, { job, step, purpose }, (fixture, over) =>
    hands.read(task, fixture, over),
  );
  if ('said' in read) {
    inHand.record({ type: 'clamped anew', job, step });
    return undefined;
  }
  const { capture } = read;
  screen.captured(capture.height / 1000, capture);
  return capture;
}

/** What the fixture is armed for. */
export interface StepToRead {
  /** Number of the job or session. */
  readonly job: number;
  readonly step: number;
  /** By the table of purposes of the protocol. */
  readonly purpose: number;
}

/** Has the fixture read one step; `read` brings it, arms it and triggers, again as often as it takes, or says another thing. */
export async function readStep<Said extends string | object>(
  link: Link,
  asked: StepToRead,
  read: (fixture: FixtureInHand, over: AbortSignal) => Promise<Said | undefined>,
): Promise<{ readonly capture: Body<'captured'> } | { readonly said: Said }> {
  const watch = watchFor(link, asked.job, asked.step);
  const captured = watch.captured.then((capture) => ({ capture }));
  const fixture: FixtureInHand = {
    arm: () => untilConnected(link, () => arm(link, asked)),
    capture: () => untilConnected(link, () => capture(link)),
  };
  try {
    for (;;) {
      const over = new AbortController();
      const reading = read(fixture, over.signal);
      const outcome = await Promise.race([
        captured,
        watch.interrupted(),
        reading.then<{ said: Said } | { capture: Body<'captured'> }>((said) =>
          said === undefined ? captured : { said },
        ),
      ]);
      over.abort();
      if (outcome !== 'again') return outcome;
    }
  } finally {
    watch.stop();
  }
}

async function arm(link: Link, asked: StepToRead): Promise<void> {
  await link.request('arm', { ...asked, liveHz: LIVE_HZ, standardErrorUm: STANDARD_ERROR_UM });
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
