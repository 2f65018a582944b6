/**
 * The real firmware and the real link on one standing time: simulated microseconds and the link's timers go on together,
 * so that half a minute of trouble takes a moment.
 */
import type { Duplex } from 'node:stream';
import { openLink } from '../../../host/link/index';
import type { Link, Listeners, Notices } from '../../../host/link/index';
import { EXAMPLE_BODY } from '../../../host/simulation/body';
import { createSimulatedFixture } from '../../../host/simulation/fixture';
import type { SimulatedFixture } from '../../../host/simulation/fixture';
import type { Scene } from '../../../host/simulation/world';
import { createManualTimers } from '../../unit/link/manual-timers';
import { createShelf } from '../../unit/link/peer';
import type { Shelf } from '../../unit/link/peer';

/** A fixture at rest on a blade that hangs level, the floor well within reach. */
export const AT_REST: Scene = {
  distanceMm: 100,
  speckleMm: 0.02,
  forceG: [0, 0, 1],
  turnRateDegS: [0, 0, 0],
  temperatureC: 20,
  headPosition: 0,
  buttonDown: false,
};

export interface Rig {
  readonly fixture: SimulatedFixture;
  readonly shelf: Shelf;
  readonly told: { readonly name: keyof Notices; readonly notice: unknown }[];
  /** What the fixture feels from now on. */
  scene: Scene;
  /** What the host's next opening of the port finds; the fixture at first. */
  port: () => Promise<Duplex>;
  /** Called every 10 ms of standing time with the milliseconds since the rig was made. */
  disturb: ((atMs: number) => void) | undefined;
  pass(ms: number): Promise<void>;
  /** Awaits a promise while time passes. */
  settled<T>(promise: Promise<T>): Promise<T>;
  connect(): Promise<Link>;
  tellings<N extends keyof Notices>(name: N): Notices[N][];
  /** Arms for a step of a job, asks for a capture and waits until it is kept. */
  readTip(link: Link, job: number, step: number): Promise<void>;
}

const STEP_MS = 10;

export async function createRig(seed = 1): Promise<Rig> {
  const timers = createManualTimers();
  const shelf = createShelf();
  const told: { name: keyof Notices; notice: unknown }[] = [];
  const note = (name: keyof Notices) => (notice: unknown) => void told.push({ name, notice });
  const names = ['live', 'captured', 'happened', 'error', 'lost', 'back', 'garbage', 'missing'] as const;
  const listeners = Object.fromEntries(names.map((name) => [name, note(name)])) as Listeners;
  const scene = { now: AT_REST };
  const fixture = await createSimulatedFixture({
    world: { sceneAt: () => scene.now },
    body: EXAMPLE_BODY,
    seed,
  });

  const rig: Rig = {
    fixture,
    shelf,
    told,
    get scene() {
      return scene.now;
    },
    set scene(next) {
      scene.now = next;
    },
    port: () => fixture.openPort(),
    disturb: undefined,
    pass: async (ms) => {
      for (let passed = 0; passed < ms; passed += STEP_MS) {
        rig.disturb?.(timers.nowMs());
        fixture.advance(STEP_MS * 1000);
        await timers.advance(STEP_MS);
      }
    },
    settled: async (promise) => {
      let done = false;
      const mark = () => (done = true);
      promise.then(mark, mark);
      for (let waited = 0; !done && waited < 60_000; waited += STEP_MS) await rig.pass(STEP_MS);
      if (!done) throw new Error('still waiting after a minute');
      return promise;
    },
    connect: () =>
      rig.settled(openLink({ open: () => rig.port(), name: 'fixture', keep: shelf.keep, timers, listeners })),
    tellings: <N extends keyof Notices>(name: N) =>
      told.filter((t) => t.name === name).map((t) => t.notice as Notices[N]),
    readTip: async (link, job, step) => {
      const before = shelf.kept.size;
      await rig.settled(link.request('arm', { job, step, purpose: 0, liveHz: 10, standardErrorUm: 20 }));
      await rig.settled(link.request('capture', {}));
      for (let waited = 0; shelf.kept.size === before && waited < 30_000; waited += 100) await rig.pass(100);
      if (shelf.kept.size === before) throw new Error('the capture did not come within 30 s');
    },
  };
  return rig;
}
