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
import { memoryKeepsPattern, openKeeping } from './keeping';
import type { Keeping } from './keeping';

/** One bad transaction is forgiven, three in a row are a fault. */
const MISSES_MAX = 3;

export interface Parts {
  readonly memory: MemoryPart;
  /** Undefined until the memory could be opened. */
  keeping(): Keeping | undefined;
  /** Starts every part and raises or clears its fault. */
  check(): void;
  /** Newest converter reading; undefined: none this time. */
  readCounts(): number | undefined;
  /** The newest motion sample, the same object each time; undefined: none this time. */
  readMotion(): MotionSample | undefined;
}

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
  let keeping: Keeping | undefined = undefined;
  let countsMissed = 0;
  let motionMissed = 0;

  function report(works: boolean, fault: FixtureErrorName): void {
    if (works) faults.clear(fault);
    else faults.raise(fault);
  }

  function memoryWorks(): boolean {
    if (keeping === undefined) keeping = openKeeping(memory);
    else return memoryKeepsPattern(memory);
    return keeping !== undefined && keeping.journal.damaged() === 0;
  }

  function check(): void {
    countsMissed = 0;
    motionMissed = 0;
    const free = bus.recover();
    report(free, 'bus stuck');
    if (!free) return;
    report(converter.start(), 'converter missing');
    report(motion.start(), 'motion part missing');
    report(memoryWorks(), 'memory missing');
  }

  return {
    memory,
    keeping: () => keeping,
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
