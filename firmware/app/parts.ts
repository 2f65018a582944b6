/** The parts on the bus and what the memory keeps: started, watched, and started again when they come back. */
import { createConverter } from '../drivers/converter';
import type { Converter } from '../drivers/converter';
import { createMemoryPart } from '../drivers/memory';
import type { MemoryPart } from '../drivers/memory';
import { createMotionPart } from '../drivers/motion';
import type { MotionPart, MotionSample } from '../drivers/motion';
import type { Bus } from '../ports/ports';
import type { FixtureErrorName } from '../../protocol/wire';
import type { Faults } from './faults';
import { countStart, memoryKeepsPattern, openKeeping } from './keeping';
import type { Keeping, KeepingOpening } from './keeping';

/** One bad transaction is forgiven, three in a row are a fault. */
const MISSES_MAX = 3;

export interface Parts {
  readonly memory: MemoryPart;
  /** Which start this is; 0 until the memory could tell. */
  bootCount(): number;
  /** Undefined until the memory was opened. */
  keeping(): Keeping | undefined;
  /** Whether the parts were not looked at yet or the memory is being opened: nobody knows then what it keeps. */
  opening(): boolean;
  /** Looks at the parts, or opens the memory a piece further and raises or clears its fault at the end. */
  open(): void;
  /** Starts every part and raises or clears its fault; begins to open the memory when it is not open yet. */
  check(): void;
  /** Newest converter reading; undefined: none this time. */
  readCounts(): number | undefined;
  /** The newest motion sample, the same object each time; undefined: none this time. */
  readMotion(): MotionSample | undefined;
}

/** Counts this start in the memory and does nothing more: whoever asks who is there gets his answer first. */
export function createParts(bus: Bus, faults: Faults): Parts {
  const converter: Converter = createConverter(bus);
  const motion: MotionPart = createMotionPart(bus);
  const memory: MemoryPart = createMemoryPart(bus);
  const sample: MotionSample = {
    temperatureCentiC: 0,
    rateXMdegS: 0,
    rateYMdegS: 0,
    rateZMdegS: 0,
    forceXUg: 0,
    forceYUg: 0,
    forceZUg: 0,
  };
  bus.recover();
  let bootCount = countStart(memory) ?? 0;
  let checked = false;
  let opening: KeepingOpening | undefined = undefined;
  let keeping: Keeping | undefined = undefined;
  let countsMissed = 0;
  let motionMissed = 0;

  function report(works: boolean, fault: FixtureErrorName): void {
    if (works) faults.clear(fault);
    else faults.raise(fault);
  }

  function checkMemory(): void {
    if (opening !== undefined) return;
    if (keeping !== undefined) {
      report(keeping.journal.damaged() === 0 && memoryKeepsPattern(memory), 'memory missing');
      return;
    }
    if (bootCount === 0) bootCount = countStart(memory) ?? 0;
    if (bootCount === 0) faults.raise('memory missing');
    else opening = openKeeping(memory);
  }

  function open(): void {
    if (opening === undefined) {
      if (!checked) check();
      return;
    }
    const found = opening.proceed();
    if (found === 'more') return;
    opening = undefined;
    if (found !== 'unreachable') keeping = found;
    report(keeping !== undefined && keeping.journal.damaged() === 0, 'memory missing');
  }

  function check(): void {
    checked = true;
    countsMissed = 0;
    motionMissed = 0;
    const free = bus.recover();
    report(free, 'bus stuck');
    if (!free) return;
    report(converter.start(), 'converter missing');
    report(motion.start(), 'motion part missing');
    checkMemory();
  }

  return {
    memory,
    bootCount: () => bootCount,
    keeping: () => keeping,
    opening: () => !checked || opening !== undefined,
    open: () => open(),
    check: () => check(),
    readCounts: () => {
      const counts = converter.read();
      countsMissed = counts === undefined ? countsMissed + 1 : 0;
      if (countsMissed >= MISSES_MAX) check();
      return counts;
    },
    readMotion: () => {
      const answered = motion.read(sample);
      motionMissed = answered ? 0 : motionMissed + 1;
      if (motionMissed >= MISSES_MAX) check();
      return answered ? sample : undefined;
    },
  };
}
