/**
 * A simulated shop for the page. The person at the screen decides, captures and answers; a simulated technician carries
 * the fixture, turns the blades and the nuts. A shop is made for every job, from its number, and made up again after a
 * restart from what the log says was done in it.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import type { SessionHands } from '../conduct/gauging-session';
import type { Hands, Question, ReadTask } from '../conduct/hands';
import type { AtBench, Bench, JobInLog } from '../desk/bench';
import type { JobEvent } from '../ledger/events';
import { openLink } from '../link/index';
import { eventsFor } from '../procedure/answer';
import { EXAMPLE_BODY } from '../simulation/body';
import { createSimulatedFixture, type SimulatedFixture } from '../simulation/fixture';
import { trueGeometry } from '../simulation/geometry-error';
import { IN_A_HURRY } from '../simulation/population';
import { seededRandom } from '../simulation/random';
import { createShop, type Shop } from '../simulation/shop';
import { actsIn } from './simulated-acts';
import { isInReach } from './simulated-bay';
import { openSimulatedBench } from './simulated-bench';
import { isWatched, simulatedWork } from './simulated-work';
import { DEMO_SHOP, STORIES } from './stories';

export interface SimulatedDesk extends Bench {
  /** Of the job taken up last: for tests that pull its cable. */
  readonly fixture: () => SimulatedFixture | undefined;
  /** Of the job taken up last: for tests whose hands slip. */
  readonly shop: () => Shop | undefined;
}

/** Simulated seconds in a second: `usual`, and while somebody turns by the live height and has to be watched. */
const WATCHED_TIMES = 6;

export function simulatedDesk(options: {
  readonly log: string;
  /** Simulated seconds in a second. */
  readonly pace?: number;
  /** Another shop for every job, from this on. */
  readonly seed?: number;
}): SimulatedDesk {
  const { log, pace = 1, seed = 0 } = options;
  // One shop at a time: time runs in every one there is, and a job that is taken up again is made again from the log.
  let made: { readonly job: number; readonly shop: MadeShop } | undefined;
  return {
    simulated: true,
    fixture: () => made?.shop.fixture,
    shop: () => made?.shop.shop,
    takeUp: async (job, person, say) => {
      const number = job.state.job;
      if (made?.job !== number) {
        made?.shop.close();
        made = undefined;
        made = { job: number, shop: await makeShop(job, log, pace, seed) };
      }
      return atBench(made.shop, job, person, say);
    },
    sit: async (session) => {
      const at = await openSimulatedBench(BENCH_SEED, session, log, (fixture) =>
        pacedTime(fixture, pace, () => {}),
      );
      return {
        openLink: (given) =>
          openLink({ ...given, open: () => at.fixture.openPort(), name: 'simulated port' }),
        around: (person) => simulatedSeat(at.hands, person),
        close: () => at.close(),
      };
    },
    close: () => {
      made?.shop.close();
      return Promise.resolve();
    },
  };
}

/** The fixture of all checks and studies: always the same one, and no job's, which count from 1. */
const BENCH_SEED = 0;

/** The simulated technician seats the fixture as the step wants it; the person at the screen captures. */
function simulatedSeat(simulated: SessionHands, person: SessionHands): SessionHands {
  return {
    read: async (task, fixture, over) => {
      let said: Awaited<ReturnType<SessionHands['read']>> = undefined;
      const inHand = {
        arm: () => Promise.resolve(),
        capture: async () => {
          said = await person.read(task, fixture, over);
        },
      };
      return (await simulated.read(task, inHand, over)) ?? said;
    },
  };
}

interface MadeShop {
  readonly shop: Shop;
  readonly fixture: SimulatedFixture;
  readonly time: PacedTime;
  readonly act: (event: JobEvent) => void;
  close(): void;
}

async function makeShop(
  { state, events }: JobInLog,
  log: string,
  pace: number,
  seed: number,
): Promise<MadeShop> {
  const own = seed + state.job;
  const story = STORIES[state.use];
  const shop = createShop({
    seed: own,
    profile: trueGeometry(state.profile, seededRandom(own).split('tape')),
    body: EXAMPLE_BODY,
    faults: story.faults(state.profile),
    ...DEMO_SHOP,
    ...IN_A_HURRY,
    // The wrench is watched.
    fetchWrenchMs: 400,
    perTurnMs: 400,
    ...story.population,
    ...(state.plate === undefined ? {} : { plateMm: state.plate.thicknessMm }),
  });
  const kept = `${log}-simulated-fixture-${state.job}`;
  const fixture = await createSimulatedFixture({
    world: shop,
    body: EXAMPLE_BODY,
    seed: own,
    fixtureId: `SIM-${state.job}`,
    ...(existsSync(kept) ? { memory: new Uint8Array(readFileSync(kept)) } : {}),
  });
  const act = actsIn(shop);
  for (const event of events) {
    act(event);
    if (event.type === 'step asked') pinTheHeadInReach(shop);
  }
  const time = pacedTime(fixture, pace, keeper(fixture, kept));
  return {
    shop,
    fixture,
    time,
    act,
    close: () => {
      time.stop();
      fixture.close();
    },
  };
}

/** Keeps what the fixture remembers before anybody can hear of it, as a real memory part does. */
function keeper({ memory }: SimulatedFixture, file: string): () => void {
  let before = Buffer.alloc(0);
  return () => {
    if (before.equals(memory)) return;
    before = Buffer.from(memory);
    writeFileSync(file, before);
  };
}

function atBench(made: MadeShop, job: JobInLog, person: Hands, say: (text: string) => void): AtBench {
  const { shop, fixture, time, act } = made;
  const over = () => time.until(() => shop.elapsedMs);
  const work = simulatedWork(shop);
  let liveMm = NaN;
  let broughtFor: ReadTask | undefined;

  /** What hands would feel and eyes would read, said: the person at the screen has neither there. */
  const felt = (question: Question): string | undefined => {
    if (question.do === 'feel hanger')
      return shop.technician.feel(question.hanger) === 'slack' ? 'it is slack' : 'it carries';
    if (question.do === 'read by ruler' && question.target.kind !== 'master') {
      const { spindle, end, headingDeg } = question.target;
      return `the ruler shows ${shop.technician.readByRuler(spindle, end, headingDeg).toFixed(1)} mm`;
    }
    return undefined;
  };

  const hands: Hands = {
    sees: (live) => {
      liveMm = live.height / 1000;
      person.sees?.(live);
    },
    pressed: () => person.pressed?.(),
    answer: async (question, offers) => {
      const seen = felt(question);
      if (seen !== undefined) say(`simulated technician: ${seen}`);
      if (isWatched(question)) {
        const leaving = new AbortController();
        const turning = turnWatched(question, leaving.signal);
        const answer = await person.answer(question, offers);
        leaving.abort();
        await turning;
        return answer;
      }
      const answer = await person.answer(question, offers);
      if (question.do === 'push and pull') {
        if (answer === 'done') shop.technician.pushAndPull();
      } else {
        for (const event of eventsFor(question, answer as never, job.state)) act(event);
      }
      await over();
      return answer;
    },
    read: async (task, inHand, isOver) => {
      if (broughtFor !== task) act({ type: 'step asked', job: job.state.job, step: 0, target: task.target });
      broughtFor = task;
      pinTheHeadInReach(shop);
      await over();
      return person.read(task, inHand, isOver);
    },
  };

  async function turnWatched(question: Extract<Question, { do: 'turn' }>, left: AbortSignal): Promise<void> {
    for (const _ of work.turnByLiveHeight(question, () => liveMm)) {
      await time.watched(() => shop.elapsedMs + 1000);
      if (left.aborted) return;
    }
  }

  return {
    openLinks:
      job.state.ruler === undefined
        ? [(given) => openLink({ ...given, open: () => fixture.openPort(), name: 'simulated port' })]
        : [],
    hands,
  };
}

function pinTheHeadInReach(shop: Shop): void {
  if (isInReach(shop)) return;
  shop.technician.pinHead(shop.settledScene().headPosition === 0 ? 1 : 0);
}

interface PacedTime {
  /** As fast as this computer can. */
  until(elapsedMs: () => number): Promise<void>;
  /** So fast that a person can watch. */
  watched(elapsedMs: () => number): Promise<void>;
  stop(): void;
}

const TICK_MS = 10;
/** Simulated time of one piece of a hurry. */
const STEP_US = 20_000;
/** After the computer slept, time does not run to catch up. */
const LONGEST_TICK_MS = 250;

/** Simulated time at the pace of the clock on the wall. `passed` is called after every piece of it. */
function pacedTime(fixture: SimulatedFixture, pace: number, passed: () => void): PacedTime {
  let before = performance.now();
  let times = 1;
  let isStopped = false;
  const advance = (us: number) => {
    fixture.advance(us);
    passed();
  };
  const tick = setInterval(() => {
    const now = performance.now();
    const ms = Math.min(LONGEST_TICK_MS, now - before);
    before = now;
    advance(1000 * ms * pace * times);
  }, TICK_MS);
  const reach = async (elapsedMs: () => number, wait: () => Promise<void>) => {
    // Whoever waits in a shop that is closed would wait for ever.
    while (!isStopped && fixture.nowUs / 1000 < elapsedMs()) await wait();
  };
  return {
    until: (elapsedMs) =>
      reach(elapsedMs, async () => {
        advance(STEP_US);
        await new Promise((resolve) => setImmediate(resolve));
      }),
    watched: async (elapsedMs) => {
      const end = elapsedMs();
      times = WATCHED_TIMES;
      await reach(
        () => end,
        () => new Promise((resolve) => setTimeout(resolve, TICK_MS)),
      );
      times = 1;
    },
    stop: () => {
      isStopped = true;
      clearInterval(tick);
    },
  };
}
