/** A simulated shop with its fixture and technician, put together so that a job can be worked in it. */
import type { SessionHands } from '../conduct/gauging-session';
import type { Hands, ReadTask } from '../conduct/hands';
import { edgesFor, NOMINAL_HEIGHT_MASTER } from '../gauging/height-master';
import type { MachineProfile } from '../machines/profile';
import { EXAMPLE_BODY } from '../simulation/body';
import { createSimulatedFixture, type SimulatedFixture } from '../simulation/fixture';
import type { Population } from '../simulation/population';
import { createShop, type Shop, type ShopOptions } from '../simulation/shop';
import { targetText } from '../views/words';
import { isWatched, simulatedWork, type Ways } from './simulated-work';

export interface SimulatedBay {
  readonly shop: Shop;
  readonly fixture: SimulatedFixture;
  readonly fixtureId: string;
  /** The simulated technician, answering and reading when simulated time has come. */
  readonly hands: Hands;
  /** The same technician at the height master, with the fixture that the shop has. */
  readonly checkHands: SessionHands;
  /** Stops simulated time and frees the fixture. */
  close(): void;
}

/** Everything in it comes from the seed. Simulated time runs from now on, as fast as this computer can. */
export async function openSimulatedBay(options: {
  readonly seed: number;
  readonly profile: MachineProfile;
  readonly population?: Partial<Population>;
  readonly faults?: NonNullable<ShopOptions['faults']>;
  /** A new fixture at every call: it needs a name that the log has not met. */
  readonly fixtureId: string;
  readonly ways?: Ways;
}): Promise<SimulatedBay> {
  const { seed, profile, population, faults = [], fixtureId, ways } = options;
  const shop = createShop({ seed, profile, body: EXAMPLE_BODY, faults, ...population });
  const fixture = await createSimulatedFixture({ world: shop, body: EXAMPLE_BODY, seed, fixtureId });
  const { hands, checkHands, stop } = workInTime(shop, fixture, ways);
  const close = () => {
    stop();
    fixture.close();
  };
  return { shop, fixture, fixtureId, hands, checkHands, close };
}

/** A fixture whose time passes only as it is told. */
export interface FixtureInTime {
  readonly nowUs: number;
  advance(us: number): void;
}

/** Lets time pass, from now until `stop`, for a technician in this shop with any fixture that lies in it. */
export function workInTime(
  shop: Shop,
  fixture: FixtureInTime,
  ways?: Ways,
): { readonly hands: Hands; readonly checkHands: SessionHands; readonly stop: () => void } {
  const time = runTime(fixture);
  return {
    hands: simulatedHands(shop, time, ways),
    checkHands: simulatedCheck(shop, time),
    stop: () => time.stop(),
  };
}

/** Sets the fixture on one edge of its height master after the other. */
function simulatedCheck(shop: Shop, time: RunningTime): SessionHands {
  const over = () => time.until(() => shop.elapsedMs);
  return {
    read: async ({ target }, fixture) => {
      if (target.kind !== 'edge') throw new Error('the simulated shop only takes daily checks');
      const { lowMm } = edgesFor(NOMINAL_HEIGHT_MASTER, target.head);
      shop.technician.putOnMaster(target.edgeMm === lowMm ? 'low' : 'high');
      await over();
      await fixture.arm();
      shop.technician.press();
      await over();
    },
  };
}

export interface RunningTime {
  /** Resolves when everything that the technician has begun is over. */
  until(elapsedMs: () => number): Promise<void>;
  /** Resolves so much simulated time from now. */
  after(ms: number): Promise<void>;
  stop(): void;
}

/** After so many readings that do not settle something is wrong with the simulation. */
const MOST_TRIES = 4;

/** Simulated time that a turn of the loop lets pass. */
const STEP_US = 20_000;

/** Lets simulated time run as fast as this computer can, giving way to the serial stream after every step. */
export function runTime(fixture: FixtureInTime): RunningTime {
  let running = true;
  const waiting: { readonly elapsedMs: () => number; readonly done: () => void }[] = [];
  const turn = () => {
    if (!running) return;
    fixture.advance(STEP_US);
    for (const waiter of [...waiting]) {
      if (fixture.nowUs / 1000 < waiter.elapsedMs()) continue;
      waiting.splice(waiting.indexOf(waiter), 1);
      waiter.done();
    }
    setImmediate(turn);
  };
  turn();
  const until = (elapsedMs: () => number) => new Promise<void>((done) => waiting.push({ elapsedMs, done }));
  return {
    until,
    after: (ms) => {
      const then = fixture.nowUs / 1000 + ms;
      return until(() => then);
    },
    stop: () => (running = false),
  };
}

function simulatedHands(shop: Shop, time: RunningTime, ways: Ways | undefined): Hands {
  const work = simulatedWork(shop, ways);
  let liveMm = NaN;
  const over = () => time.until(() => shop.elapsedMs);
  let before: ReadTask | undefined;
  let tries = 0;
  return {
    sees: ({ height }) => {
      liveMm = height / 1000;
    },
    answer: async (question, offers) => {
      if (isWatched(question)) {
        await time.after(SETTLE_MS);
        for (const _ of work.turnByLiveHeight(question, () => liveMm)) {
          await over();
          await time.after(SETTLE_MS);
        }
        return 'done' as never;
      }
      const answer = work.answer(question, offers);
      await over();
      return answer as never;
    },
    read: async (task, fixture) => {
      tries = task === before ? tries + 1 : 0;
      before = task;
      if (tries > MOST_TRIES)
        throw new Error(`the simulated technician gives up: ${targetText(task.target)}`);
      if (tries > 0) pinTheOtherHeadIfOutOfReach(shop);
      else if (work.bring(task) === 'clamped anew') return 'clamped anew';
      await over();
      await fixture.arm();
      shop.technician.press();
      await over();
      return undefined;
    },
  };
}

/** The height on the bar is that of a deck at rest. */
const SETTLE_MS = 3000;

/** Reach of the laser of the 65-135 mm class; the fixture says "out of range" beyond it. */
const REACH_MM = [65, 135] as const;

function pinTheOtherHeadIfOutOfReach(shop: Shop): void {
  if (!isInReach(shop)) shop.technician.pinHead(shop.settledScene().headPosition === 0 ? 1 : 0);
}

/** Whether the laser reaches the floor where the fixture is now. */
export function isInReach(shop: Shop): boolean {
  const { distanceMm } = shop.settledScene();
  return distanceMm !== undefined && distanceMm >= REACH_MM[0] && distanceMm <= REACH_MM[1];
}
