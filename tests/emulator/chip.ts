/** The microcontroller itself: an emulated RP2040 that runs an image from its first instruction, in emulated time. */
import { RP2040 } from 'rp2040js';

export interface Chip {
  readonly mcu: RP2040;
  /** Microseconds since this start. */
  nowUs(): number;
  /** Runs for so long, or until the chip is stopped. */
  run(us: number): void;
  /** Ends a `run` that is under way, after the instruction that caused it. */
  stop(): void;
  /** Calls `then` once in `us` microseconds, between two instructions. */
  after(us: number, then: () => void): void;
  /** What the emulator found fault with: accesses to nothing, unknown instructions and registers. */
  readonly complaints: readonly string[];
  /** Instructions executed since this start. */
  readonly instructions: number;
}

/** What a restart without loss of power leaves: RAM, and the watchdog's scratch registers and reason. */
export interface Remains {
  readonly ram: Uint8Array;
  readonly scratch: Uint32Array;
  readonly reason: number;
}

export interface ChipOptions {
  readonly image: Uint8Array;
  readonly remains?: Remains | undefined;
  /** Microseconds that the timer shows at the start; real chips start at 0. */
  readonly timerAtStartUs?: number;
  /** A sleep that only the timer ends lasts at least so long: time passes in fewer steps. */
  readonly lateWakeUs?: number | undefined;
  /** Called when the watchdog, or the program through it, restarts the chip. */
  readonly onReset: () => void;
}

const FLASH_ADDRESS = 0x10000000;
const NANOS_PER_CYCLE = 8;
const WATCHDOG = 0x40058;
const TIMER_INTERRUPT = 0;

/** Between looks at the clock; so much the timer may be late. */
const INSTRUCTIONS_AT_ONCE = 16;

/** What is used of the emulator's clock and watchdog; their types do not show it. */
interface Ticking {
  readonly nanos: number;
  readonly nanosToNextAlarm: number;
  tick(nanos: number): void;
}
interface Watchdog {
  scratchData: Uint32Array;
  reason: number;
  onWatchdogTrigger: () => void;
  readonly alarm: { enable: boolean };
}

export function startChip(options: ChipOptions): Chip {
  const mcu = new RP2040();
  const clock = mcu.clock as unknown as Ticking;
  const complaints: string[] = [];
  const complain = (component: string, message: string) => void complaints.push(`${component}: ${message}`);
  const nothing = () => undefined;
  mcu.logger = { debug: nothing, info: nothing, warn: complain, error: complain };
  clock.tick((options.timerAtStartUs ?? 0) * 1000);

  const dog = watchdog(mcu);
  dog.onWatchdogTrigger = () => {
    // The emulator's watchdog would otherwise bite again at the same moment, for ever.
    dog.alarm.enable = false;
    options.onReset();
  };
  if (options.remains !== undefined) {
    mcu.sram.set(options.remains.ram);
    dog.scratchData.set(options.remains.scratch);
    dog.reason = options.remains.reason;
  }
  mcu.flash.set(options.image);
  mcu.core.PC = FLASH_ADDRESS;

  const { core } = mcu;
  const startedNanos = clock.nanos;
  let stopped = false;
  let instructions = 0;
  const lateWakeNanos = (options.lateWakeUs ?? 0) * 1000;
  let fellAsleepNanos: number | undefined;
  let timerHeldBack = false;

  function runBriefly(): void {
    let cycles = 0;
    for (let i = 0; i < INSTRUCTIONS_AT_ONCE && !core.waiting; i++) {
      cycles += core.executeInstruction();
      instructions += 1;
    }
    clock.tick(cycles * NANOS_PER_CYCLE);
  }

  /** The emulator looks at interrupts when they change; one that came just before the sleep has to end it as well. */
  function sleep(untilNanos: number): void {
    fellAsleepNanos ??= clock.nanos;
    if (timerHeldBack && clock.nanos >= fellAsleepNanos + lateWakeNanos) {
      timerHeldBack = false;
      setInterrupt(TIMER_INTERRUPT, true);
    }
    if (core.checkForInterrupts()) core.waiting = false;
    if (core.waiting) {
      const next = clock.nanosToNextAlarm;
      const left = untilNanos - clock.nanos;
      clock.tick(next > 0 ? Math.min(next, left) : left);
    }
    if (!core.waiting) fellAsleepNanos = undefined;
  }

  // A sleep that only the timer would end goes on for a while.
  const setInterrupt = core.setInterrupt.bind(core);
  if (lateWakeNanos > 0) {
    core.setInterrupt = (interrupt, on) => {
      timerHeldBack = interrupt === TIMER_INTERRUPT ? on && core.waiting : timerHeldBack;
      if (interrupt !== TIMER_INTERRUPT || !timerHeldBack) setInterrupt(interrupt, on);
    };
  }

  return {
    mcu,
    complaints,
    get instructions() {
      return instructions;
    },
    nowUs: () => (clock.nanos - startedNanos) / 1000,
    run: (us) => {
      stopped = false;
      const untilNanos = clock.nanos + us * 1000;
      while (clock.nanos < untilNanos && !stopped) {
        if (core.waiting) sleep(untilNanos);
        else runBriefly();
      }
    },
    stop: () => {
      stopped = true;
    },
    after: (us, then) => mcu.clock.createAlarm(then).schedule(us * 1000),
  };
}

/** To start the chip again without loss of power. */
export function remainsOf(chip: Chip): Remains {
  const { scratchData, reason } = watchdog(chip.mcu);
  return { ram: chip.mcu.sram.slice(), scratch: scratchData.slice(), reason };
}

function watchdog(mcu: RP2040): Watchdog {
  return mcu.peripherals[WATCHDOG] as unknown as Watchdog;
}
