/** The firmware as JavaScript on simulated parts, with a clock of its own and frames in and out. */
import { createFixture } from '../../../firmware/app/fixture';
import type { Body, Message, MessageName } from '../../../protocol/wire';
import { createFrameReader, encodeFrame, MESSAGES } from '../../../protocol/wire';
import { createPartsBus } from '../../../host/simulation/parts/bus';
import { createConverter } from '../../../host/simulation/parts/converter';
import { createHead, drawHeadErrors, trueCalibration } from '../../../host/simulation/parts/head';
import { MEMORY_BYTES, createMemoryPart } from '../../../host/simulation/parts/memory';
import { createMotionPart, drawMotionErrors } from '../../../host/simulation/parts/motion';
import { seededRandom } from '../../../host/simulation/random';
import type { FixtureBody, Scene } from '../../../host/simulation/world';

/** Invented: a plumb head 90 mm above a concrete floor, held still at 21 degC. */
export const LEVEL_SCENE: Scene = {
  distanceMm: 90,
  speckleMm: 0.1,
  forceG: [0, 0, 1],
  turnRateDegS: [0, 0, 0],
  temperatureC: 21,
  headPosition: 0,
  buttonDown: false,
};

/** Invented. */
export const BODY: FixtureBody = [
  { edgeMm: [25, 5, -20], beam: [0.01, -0.02, -Math.sqrt(1 - 0.0005)] },
  { edgeMm: [25, 5, -60], beam: [0.01, -0.02, -Math.sqrt(1 - 0.0005)] },
];

/** Phase starting is over by then. */
const STARTING_MS = 150;

export interface Bench {
  scene: Scene;
  nowUs: number;
  readonly received: Message[];
  readonly laserOn: boolean;
  /** How often it was lit, be it for no time at all. */
  readonly laserLit: number;
  readonly lamp: readonly number[];
  readonly bus: ReturnType<typeof createPartsBus>;
  readonly memory: ReturnType<typeof createMemoryPart>;
  run(ms: number): void;
  put(message: Message): void;
  putBytes(bytes: readonly number[]): void;
  /** Sends a request with the next sequence number, runs, and returns the reply or error to it. */
  ask<N extends MessageName>(name: N, body: Body<N>, ms?: number): Message;
  ofName<N extends MessageName>(name: N): Body<N>[];
  /** New firmware on the same parts, and so long until phase starting is over unless told. */
  restart(resetCause?: number, ms?: number): void;
  /** When false, nothing can be sent to the host. */
  connected: boolean;
}

export function createBench(options: { seed?: number; clockUs?: number; calibrated?: boolean } = {}): Bench {
  const random = seededRandom(options.seed ?? 1);
  const headErrors = drawHeadErrors(random.split('head'));
  const motionErrors = drawMotionErrors(random.split('motion'));
  const time = () => bench.nowUs;
  const scene = () => bench.scene;
  const head = createHead(headErrors, time, scene, random.split('speckle'));
  const converter = createConverter(time, () => head.outputV(), random.split('converter'));
  const motion = createMotionPart({ nowUs: time, scene }, motionErrors, random.split('noise'));
  const memory = createMemoryPart(new Uint8Array(MEMORY_BYTES));
  const bus = createPartsBus([converter, motion, memory], (us) => {
    bench.nowUs += us;
  });
  converter.powerOn();

  let toFixture: number[] = [];
  let reader = createFrameReader();
  let laserOn = false;
  let laserLit = 0;
  let lamp: readonly number[] = [0, 0, 0];
  let sequence = 0;
  let cause = 0;
  let fixture = undefined as unknown as ReturnType<typeof createFixture>;

  function boot(): void {
    toFixture = [];
    reader = createFrameReader();
    fixture = createFixture({
      bus,
      pins: {
        setLaser: (on) => {
          if (on && !laserOn) laserLit += 1;
          laserOn = on;
          head.setLaser(on);
        },
        setLamp: (...colour) => {
          lamp = colour;
        },
        buttonDown: () => bench.scene.buttonDown,
        headPosition: () => bench.scene.headPosition,
      },
      clock: { micros: () => Math.floor(bench.nowUs + (options.clockUs ?? 0)) % 2 ** 32 },
      stream: {
        read: () => toFixture.splice(0),
        write: (bytes) => {
          if (!bench.connected) return false;
          for (const got of reader.push(bytes)) {
            if (got.kind !== 'message') throw new Error(`the fixture sent ${got.kind}`);
            bench.received.push(got.message);
          }
          return true;
        },
      },
      supervisor: { resetCause: () => cause, restart: () => boot() },
      facts: { board: 'bench', fixtureId: 'BENCH-1' },
    });
  }

  const bench: Bench = {
    scene: LEVEL_SCENE,
    nowUs: 0,
    received: [],
    connected: true,
    bus,
    memory,
    get laserOn() {
      return laserOn;
    },
    get laserLit() {
      return laserLit;
    },
    get lamp() {
      return lamp;
    },
    run: (ms) => {
      const endUs = bench.nowUs + ms * 1000;
      while (bench.nowUs < endUs) {
        // The step itself lets time pass on the bus.
        const idleUs = fixture.step();
        bench.nowUs += Math.max(20, idleUs);
      }
    },
    put: (message) => bench.putBytes(encodeFrame(message)),
    putBytes: (bytes) => {
      toFixture.push(...bytes);
    },
    ask: (name, body, ms = 10) => {
      sequence = (sequence % 255) + 1;
      const from = bench.received.length;
      bench.put({ name, sequence, body } as unknown as Message);
      bench.run(ms);
      const reply = bench.received.slice(from).find((m) => m.sequence === sequence && !isNotice(m));
      if (reply === undefined) throw new Error(`${name}: no reply`);
      return reply;
    },
    ofName: <N extends MessageName>(name: N) =>
      bench.received.filter((m) => m.name === name).map((m) => m.body as unknown as Body<N>),
    restart: (resetCause = 0, ms = STARTING_MS) => {
      cause = resetCause;
      boot();
      bench.run(ms);
    },
  };

  boot();
  bench.run(STARTING_MS);
  if (options.calibrated !== false) {
    for (const calibration of trueCalibration(BODY, headErrors, motionErrors)) {
      bench.ask('write-calibration', calibration, 20);
    }
  }
  bench.received.length = 0;
  return bench;
}

/** Runs until the head counts as warm and the gyro's bias is known, then arms. */
export function armed(bench: Bench, order: Partial<Body<'arm'>> = {}): void {
  bench.run(6000);
  bench.ask('arm', { job: 7, step: 3, purpose: 0, liveHz: 0, standardErrorUm: 15, ...order });
}

/** Notices have a count of their own, which may be the number of a request. */
function isNotice({ name }: Message): boolean {
  return MESSAGES.some((m) => m.name === name && m.kind === 'notice');
}

/** The body of a message that must be of this name. */
export function bodyOf<N extends MessageName>(message: Message, name: N): Body<N> {
  if (message.name !== name) throw new Error(`${message.name} instead of ${name}`);
  return message.body as unknown as Body<N>;
}

export const codeIn = (message: Message) => bodyOf(message, 'error').code;
export const statusOf = (bench: Bench) => bodyOf(bench.ask('report-status', {}), 'status');

/** Specific force at rest when the fixture is rolled about x. */
export function rolled(degrees: number): Scene['forceG'] {
  const a = (degrees * Math.PI) / 180;
  return [0, Math.sin(a), Math.cos(a)];
}
