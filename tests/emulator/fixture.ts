/**
 * The emulated fixture: the microcontroller image on an emulated RP2040, with the simulated parts on its pins, behind the
 * byte stream of a serial port. It is used like the simulated fixture; time passes only in `advance`.
 */
import { GPIOPinState } from 'rp2040js';
import type { SerialPortStream } from '@serialport/stream';
import { encodeFrame } from '../../protocol/wire';
import type { Body } from '../../protocol/wire';
import { createConverter } from '../../host/simulation/parts/converter';
import {
  createHead,
  drawHeadErrors,
  factoryCalibration,
  trueCalibration,
} from '../../host/simulation/parts/head';
import { MEMORY_BYTES, createMemoryPart } from '../../host/simulation/parts/memory';
import { createMotionPart, drawMotionErrors } from '../../host/simulation/parts/motion';
import { createCable } from '../../host/simulation/port';
import { seededRandom } from '../../host/simulation/random';
import type { FixtureBody, Scene, World } from '../../host/simulation/world';
import { remainsOf, startChip } from './chip';
import type { Chip, Remains } from './chip';
import { attachUsbHost } from './usb-host';
import type { Device, UsbHost } from './usb-host';
import { PIN, US_PER_BYTE, lampOf, wireBus } from './wires';
import type { BusFaults } from './wires';

export type Breakable = 'converter' | 'motion' | 'memory';

export interface EmulatedOptions {
  /** The whole image as it lies in the flash. */
  readonly image: Uint8Array;
  readonly world: World;
  readonly body: FixtureBody;
  /** Draws this unit's errors, its factory calibration and its noise. */
  readonly seed: number;
  /** What an earlier life of the same fixture left in its memory; without it the fixture comes new from the factory. */
  readonly memory?: Uint8Array;
  readonly timerAtPowerOnUs?: number;
  /** See `ChipOptions.lateWakeUs`. */
  readonly lateWakeUs?: number;
  /** How often the computer looks at its port, 500 us unless told. */
  readonly portLookUs?: number;
  /** How long a byte takes on the bus, 22.5 us unless told: the program waits for it in a loop that costs the emulator dear. */
  readonly busByteUs?: number;
}

export interface EmulatedFixture {
  /** Emulated time since the fixture was made. */
  readonly nowUs: number;
  advance(us: number): void;
  readonly memory: Uint8Array;
  readonly trueCalibration: readonly [Body<'calibration'>, Body<'calibration'>];
  openPort(): Promise<SerialPortStream>;
  unplug(): void;
  plugIn(): void;
  powerCycle(): void;
  /** Calls `then` before each byte that the memory stores. */
  onStored(then: () => void): void;
  /** Power fails as soon as so many more bytes were stored in the memory; the fixture stays off until `plugIn`. */
  cutPowerAfterStoring(bytes: number): void;
  readonly hasPower: boolean;
  break(part: Breakable): void;
  repair(part: Breakable): void;
  /** The part's supply sags for a moment, too little for the chip to notice: it loses its settings. */
  sag(part: 'converter' | 'motion'): void;
  /** A part holds the bus until it was clocked so often; 0 lets go. */
  holdBus(clocks: number): void;
  readonly laserOn: boolean;
  /** The laser's line was seen high so often. */
  readonly laserLit: number;
  readonly lamp: readonly [number, number, number];
  /** The chip's restarts that were not caused by power, in order: the watchdog's reason register. */
  readonly resets: readonly number[];
  /** What the emulator found fault with, over all starts. */
  readonly complaints: string[];
  /** The chip as it now runs. */
  readonly chip: Chip;
  /** What the USB device says about itself, once the computer knows. */
  readonly device: Device | undefined;
  /** Sends bytes into the UART as fast as 115200 baud allows. */
  uartSend(bytes: readonly number[]): void;
  /** What came out of the UART, with emulated microseconds since the start. */
  readonly uartReceived: readonly { readonly byte: number; readonly atUs: number }[];
}

const SCENE_EVERY_US = 500;
const PORT_LOOK_US = 500;
const UART_BYTE_US = 86.8;
const FACTORY_US = 400_000;

export function createEmulatedFixture(options: EmulatedOptions): EmulatedFixture {
  const { world, body } = options;
  const random = seededRandom(options.seed).split('fixture');
  const headErrors = drawHeadErrors(random.split('head'));
  const motionErrors = drawMotionErrors(random.split('motion part'));
  const truth = trueCalibration(body, headErrors, motionErrors);
  const complaints: string[] = [];
  const resets: number[] = [];
  const uartReceived: { byte: number; atUs: number }[] = [];
  const busFaults: BusFaults = { missing: new Set(), heldForClocks: 0 };

  let passedUs = 0;
  let chip: Chip | undefined;
  let host: UsbHost | undefined;
  let resetAsked = false;
  let beforeStored: () => void = () => undefined;
  let laserLit = 0;
  let scene: Scene = world.sceneAt(0);
  let sceneUs = -Infinity;

  const time = () => passedUs + (chip?.nowUs() ?? 0);
  const look = () => {
    if (time() - sceneUs < SCENE_EVERY_US) return;
    sceneUs = time();
    scene = world.sceneAt(sceneUs);
  };
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
  const memory = createMemoryPart(options.memory ?? new Uint8Array(MEMORY_BYTES), () => beforeStored());
  const parts = { converter, motion, memory };
  const cable = createCable('emulated:fixture', () => undefined);
  cable.unplug();

  function start(remains?: Remains): void {
    chip = startChip({
      image: options.image,
      remains,
      lateWakeUs: options.lateWakeUs,
      timerAtStartUs: remains === undefined ? (options.timerAtPowerOnUs ?? 0) : 0,
      onReset: () => {
        resetAsked = true;
        chip?.stop();
      },
    });
    const { mcu } = chip;
    wireBus(mcu, Object.values(parts), busFaults, options.busByteUs ?? US_PER_BYTE, look, () => {
      if (memory.powerIsOut()) chip?.stop();
    });
    head.setLaser(false);
    mcu.gpio[PIN.laser].addListener((state) => {
      const lit = state === GPIOPinState.High;
      if (lit) laserLit += 1;
      head.setLaser(lit);
    });
    const startedUs = passedUs;
    mcu.uart[0].onByte = (byte) => uartReceived.push({ byte, atUs: time() - startedUs });
    host = attachUsbHost(
      mcu.usbCtrl,
      (bytes) => cable.send(bytes),
      () => cable.plugIn(),
    );
    watchLines(chip);
  }

  /** The single lines, and whether a program on the computer has the port open. */
  function watchLines(of: Chip): void {
    look();
    of.mcu.gpio[PIN.button].setInputValue(!scene.buttonDown);
    of.mcu.gpio[PIN.head].setInputValue(scene.headPosition === 1);
    host!.setOpen(cable.send([]));
    const bytes = cable.receive(256);
    if (bytes.length > 0) host!.send(bytes);
    of.after(options.portLookUs ?? PORT_LOOK_US, () => watchLines(of));
  }

  function powerOff(): void {
    if (chip === undefined) return;
    stopChip();
    head.setLaser(false);
  }

  function stopChip(): Remains {
    passedUs += chip!.nowUs();
    complaints.push(...chip!.complaints);
    const remains = remainsOf(chip!);
    chip = undefined;
    host = undefined;
    cable.unplug();
    return remains;
  }

  function powerOn(): void {
    converter.powerOn();
    motion.powerOn();
    memory.powerOn();
    start();
  }

  function advance(us: number): void {
    const endUs = time() + us;
    while (time() < endUs) {
      if (chip === undefined) {
        passedUs = endUs;
        return;
      }
      chip.run(endUs - time());
      if (memory.powerIsOut()) powerOff();
      else if (resetAsked) {
        resetAsked = false;
        const remains = stopChip();
        resets.push(remains.reason);
        start(remains);
      }
    }
  }

  /** What the factory does to a new fixture: writes both calibrations, over the wire like anybody. */
  function passThroughFactory(): void {
    powerOn();
    advance(FACTORY_US);
    truth.forEach((calibration, position) => {
      const found = factoryCalibration(calibration, random.split(`factory ${position}`));
      uartSend(encodeFrame({ name: 'write-calibration', sequence: position + 1, body: found }));
      advance(FACTORY_US);
    });
    powerOff();
    uartReceived.length = 0;
    powerOn();
  }

  function uartSend(bytes: readonly number[]): void {
    bytes.forEach((byte, i) => chip!.after((i + 1) * UART_BYTE_US, () => chip?.mcu.uart[0].feedByte(byte)));
  }

  if (options.memory === undefined) passThroughFactory();
  else powerOn();

  return {
    get nowUs() {
      return time();
    },
    get laserOn() {
      return chip !== undefined && chip.mcu.gpio[PIN.laser].value === GPIOPinState.High;
    },
    get laserLit() {
      return laserLit;
    },
    get lamp() {
      return chip === undefined ? ([0, 0, 0] as const) : lampOf(chip.mcu);
    },
    get hasPower() {
      return chip !== undefined;
    },
    get chip() {
      if (chip === undefined) throw new Error('the fixture has no power');
      return chip;
    },
    get device() {
      return host?.device;
    },
    get complaints() {
      return [...complaints, ...(chip?.complaints ?? [])];
    },
    memory: memory.content,
    trueCalibration: truth,
    resets,
    uartReceived,
    advance,
    uartSend,
    openPort: () => cable.open(),
    unplug: powerOff,
    plugIn: powerOn,
    powerCycle: () => {
      powerOff();
      powerOn();
    },
    onStored: (then) => {
      beforeStored = then;
    },
    cutPowerAfterStoring: (bytes) => memory.cutAfter(bytes),
    break: (part) => busFaults.missing.add(parts[part].address),
    repair: (part) => busFaults.missing.delete(parts[part].address),
    sag: (part) => parts[part].powerOn(),
    holdBus: (clocks) => {
      busFaults.heldForClocks = clocks;
      if (chip !== undefined) busFaults.changed?.();
    },
  };
}
