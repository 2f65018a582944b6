/**
 * The simulated fixture: the firmware's own Lua bundle in a Lua machine, with simulated parts on its bus, behind a byte
 * stream like that of a real serial port. Nothing of the firmware is replaced.
 */
import type { SerialPortStream } from '@serialport/stream';
import { encodeFrame } from '../../protocol/wire';
import type { Body } from '../../protocol/wire';
import { firmwareBundle } from './firmware-bundle';
import { loadLua } from './lua-vm';
import type { LuaVm } from './lua-vm';
import { createPartsBus } from './parts/bus';
import { createConverter } from './parts/converter';
import { createHead, drawHeadErrors, factoryCalibration, trueCalibration } from './parts/head';
import { MEMORY_BYTES, createMemoryPart } from './parts/memory';
import { createMotionPart, drawMotionErrors } from './parts/motion';
import { createCable } from './port';
import { seededRandom } from './random';
import type { FixtureBody, Scene, World } from './world';

export interface FixtureOptions {
  readonly world: World;
  readonly body: FixtureBody;
  /** Draws this unit's errors, its factory calibration and its noise. */
  readonly seed: number;
  readonly fixtureId?: string;
  /** What an earlier life of the same fixture left in its memory; without it the fixture comes new from the factory. */
  readonly memory?: Uint8Array;
  /** What the board's clock shows when power comes on; real boards start at 0. */
  readonly clockAtPowerOnUs?: number;
}

export type Breakable = 'converter' | 'motion' | 'memory' | 'bus';

export interface SimulatedFixture {
  /** Simulated time since the fixture was made; never runs backwards. */
  readonly nowUs: number;
  /** Lets simulated time pass. The firmware does what is due, as fast as this computer can. */
  advance(us: number): void;
  /** What its memory holds, the part's own array. */
  readonly memory: Uint8Array;
  /** Calibrations of both head positions without the factory's error. */
  readonly trueCalibration: readonly [Body<'calibration'>, Body<'calibration'>];
  /** Opens the host's end of the cable. */
  openPort(): Promise<SerialPortStream>;
  /** Pulls the cable: the fixture loses its power and the port hangs up. */
  unplug(): void;
  plugIn(): void;
  /** Off and on again at once. */
  powerCycle(): void;
  /** Power fails as soon as so many more bytes were stored in the memory; the fixture stays off until `plugIn`. */
  cutPowerAfterStoring(bytes: number): void;
  break(part: Breakable): void;
  repair(part: Breakable): void;
  /** Noise on the line, both ways. */
  garbage(bytes: readonly number[]): void;
  readonly laserOn: boolean;
  /** Red, green and blue of the lamp, 0 to 255. */
  readonly lamp: readonly [number, number, number];
  /** Lua errors that restarted the firmware, with their tracebacks; empty when all is well. */
  readonly crashes: readonly string[];
  /** Bytes on the Lua heap, garbage included; 0 without power. */
  heapBytes(): number;
  /** Frees the Lua machine. */
  close(): void;
}

/** The firmware's own work in one step, beside what its transactions take. */
const STEP_US = 30;
/** More than enough for the factory's one request. */
/** Phase starting takes most of it. */
const FACTORY_US = 150_000;
const CLOCK_WRAP_US = 2 ** 32;
const READ_BYTES_MAX = 256;
const RESET = { power: 0, asked: 1, crash: 3 } as const;

export async function createSimulatedFixture(options: FixtureOptions): Promise<SimulatedFixture> {
  const { world, body } = options;
  const random = seededRandom(options.seed).split('fixture');
  const headErrors = drawHeadErrors(random.split('head'));
  const motionErrors = drawMotionErrors(random.split('motion part'));
  const truth = trueCalibration(body, headErrors, motionErrors);
  const chunk = firmwareBundle();

  let nowUs = 0;
  let powerOnUs = 0;
  let wakeUs = 0;
  let scene: Scene = world.sceneAt(0);
  let lamp: readonly [number, number, number] = [0, 0, 0];
  let laserOn = false;
  let restartAsked = false;
  let vm: LuaVm | undefined;
  const crashes: string[] = [];

  const time = () => nowUs;
  const head = createHead(headErrors, time, () => scene, random.split('speckle'));
  const converter = createConverter(
    time,
    (input) => (input === 0 ? head.outputV() : 0),
    random.split('converter'),
  );
  const motion = createMotionPart(
    { nowUs: time, scene: () => scene },
    motionErrors,
    random.split('motion noise'),
  );
  const memory = createMemoryPart(options.memory ?? new Uint8Array(MEMORY_BYTES));
  const bus = createPartsBus([converter, motion, memory], (us) => {
    nowUs += us;
  });
  const cable = createCable(`simulated:${options.fixtureId ?? 'fixture'}`, () => {
    wakeUs = nowUs;
  });

  const natives = {
    board: 'simulated',
    fixtureId: options.fixtureId ?? `SIM-${options.seed}`,
    micros: () => Math.floor(nowUs - powerOnUs + (options.clockAtPowerOnUs ?? 0)) % CLOCK_WRAP_US,
    transfer: (address: number, bytes: readonly number[], readCount: number) =>
      bus.transfer(address, bytes, readCount),
    recover: () => bus.recover(),
    setLaser: (on: boolean) => {
      laserOn = on;
      head.setLaser(on);
      return undefined;
    },
    setLamp: (red: number, green: number, blue: number) => {
      lamp = [red, green, blue];
      return undefined;
    },
    buttonDown: () => scene.buttonDown,
    headPosition: () => scene.headPosition,
    read: () => cable.receive(READ_BYTES_MAX),
    write: (bytes: readonly number[]) => !memory.powerIsOut() && cable.send(bytes),
    restart: () => {
      restartAsked = true;
      return undefined;
    },
  };

  const lua = await loadLua();

  function powerOff(): void {
    vm?.close();
    vm = undefined;
    head.setLaser(false);
    laserOn = false;
    lamp = [0, 0, 0];
  }

  function start(cause: number): void {
    powerOff();
    restartAsked = false;
    powerOnUs = nowUs;
    wakeUs = nowUs;
    scene = world.sceneAt(nowUs);
    vm = lua.create(chunk, 'board', { ...natives, resetCause: cause });
  }

  function powerOn(): void {
    converter.powerOn();
    motion.powerOn();
    memory.powerOn();
    start(RESET.power);
  }

  function step(): void {
    scene = world.sceneAt(nowUs);
    try {
      const idleUs = vm!.call('step');
      nowUs += STEP_US;
      wakeUs = nowUs + idleUs;
    } catch (error) {
      crashes.push(String(error));
      start(RESET.crash);
      return;
    }
    if (memory.powerIsOut()) unplug();
    else if (restartAsked) start(RESET.asked);
  }

  function advance(us: number): void {
    const endUs = nowUs + us;
    while (nowUs < endUs) {
      if (vm === undefined || wakeUs >= endUs) {
        nowUs = endUs;
      } else {
        nowUs = Math.max(nowUs, wakeUs);
        step();
      }
    }
  }

  function unplug(): void {
    powerOff();
    cable.unplug();
  }

  function plugIn(): void {
    cable.plugIn();
    powerOn();
  }

  /** What the factory does to a new fixture: writes both calibrations, over the wire like anybody. */
  function passThroughFactory(): void {
    powerOn();
    truth.forEach((calibration, position) => {
      const found = factoryCalibration(calibration, random.split(`factory ${position}`));
      cable.disturb([], encodeFrame({ name: 'write-calibration', sequence: position + 1, body: found }));
      advance(FACTORY_US);
    });
    unplug();
    plugIn();
  }

  function setBroken(part: Breakable, broken: boolean): void {
    if (part === 'bus') bus.hold(broken);
    else bus.detach({ converter, motion, memory }[part].address, broken);
  }

  if (options.memory === undefined) passThroughFactory();
  else powerOn();

  return {
    get nowUs() {
      return nowUs;
    },
    get laserOn() {
      return laserOn;
    },
    get lamp() {
      return lamp;
    },
    memory: memory.content,
    trueCalibration: truth,
    crashes,
    advance,
    openPort: () => cable.open(),
    unplug,
    plugIn,
    powerCycle: () => {
      unplug();
      plugIn();
    },
    cutPowerAfterStoring: (bytes) => memory.cutAfter(bytes),
    break: (part) => setBroken(part, true),
    repair: (part) => setBroken(part, false),
    garbage: (bytes) => cable.disturb(bytes, bytes),
    heapBytes: () => vm?.heapBytes() ?? 0,
    close: () => vm?.close(),
  };
}
