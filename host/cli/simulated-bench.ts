/** A simulated fixture on a simulated height master, and hands that do what a session asks: to try the commands without one. */
import { existsSync, readFileSync } from 'node:fs';
import type { SessionHands } from '../conduct/gauging-session';
import { createBench, type Bench } from '../simulation/bench';
import { EXAMPLE_BODY } from '../simulation/body';
import { createSimulatedFixture, type SimulatedFixture } from '../simulation/fixture';
import { seededRandom, type Random } from '../simulation/random';
import { writeOut } from './output';
import { runTime } from './simulated-bay';

export interface SimulatedBench {
  readonly fixture: SimulatedFixture;
  readonly bench: Bench;
  readonly hands: SessionHands;
  /** Keeps what the fixture's memory holds and stops simulated time. */
  close(): void;
}

/** Clampings of the simulated technicians, and how far one differs from another. Invented. */
const CLAMP_SD_MM = 0.15;
const TECHNICIAN_SD_MM = 0.05;
/** The simulated shop's warm room. */
const WARMER_C = 12;
/** After so many readings that do not settle a step is left out. */
const MOST_TRIES = 2;

/** `seed` is the fixture; its memory lives in a file beside the log, so that it is the same one the next time. */
export async function openSimulatedBench(
  seed: number,
  visit: number,
  log: string,
  run: (fixture: SimulatedFixture) => { stop(): void } = runTime,
): Promise<SimulatedBench> {
  const kept = `${log}-simulated-fixture-${seed}`;
  const random = seededRandom(seed).split(`visit ${visit}`);
  const bench = createBench({ body: EXAMPLE_BODY, random, temperatureC: 20 + random.normal(1) });
  const fixture = await createSimulatedFixture({
    world: bench,
    body: EXAMPLE_BODY,
    seed,
    fixtureId: `SIM-${seed}`,
    ...(existsSync(kept) ? { memory: new Uint8Array(readFileSync(kept)) } : {}),
  });
  const time = run(fixture);
  return {
    fixture,
    bench,
    hands: benchHands(bench, seededRandom(seed).split('technicians'), random),
    close: () => {
      time.stop();
      writeOut(kept, fixture.memory);
      fixture.close();
    },
  };
}

/** Edges as asked for; a tip of a study hangs at a height of its own. */
export function benchHands(bench: Bench, shop: Random, random: Random): SessionHands {
  const hereC = bench.temperatureC;
  let tried = 0;
  let before = 0;
  return {
    read: async ({ target, step }, fixture) => {
      tried = step === before ? tried + 1 : 0;
      before = step;
      if (tried > MOST_TRIES) return { leftOut: 'the simulated fixture does not settle here' };
      if (target.kind === 'edge') {
        bench.put(target);
        bench.temperatureC = target.elsewhere === true ? hereC + WARMER_C : hereC;
      } else {
        const edgeMm = 60 + shop.split(`tip ${target.tip}`).between(-8, 8);
        const habitMm = shop.split(`technician ${target.technician}`).normal(TECHNICIAN_SD_MM);
        const clampMm = habitMm + random.normal(CLAMP_SD_MM);
        bench.put({ head: 0, edgeMm, blockMm: 0, turnDeg: 0, clampMm });
      }
      await fixture.arm();
      await fixture.capture();
      return undefined;
    },
  };
}
