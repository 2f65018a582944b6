/** What the memory keeps for the fixture: boot count, calibrations, captures. */
import { createFrameReader, crc32c, encodeFrame } from '../../protocol/wire';
import type { Body } from '../../protocol/wire';
import {
  BOOT_COUNT_ADDRESS,
  BOOT_COUNT_PLACE_BYTES,
  CALIBRATION_ADDRESSES,
  CALIBRATION_PLACE_BYTES,
  SCRATCH_ADDRESS,
  openLayout,
} from '../sensing/layout';
import { openJournal } from '../sensing/journal';
import type { Journal } from '../sensing/journal';
import type { Memory } from '../sensing/record';
import { openTwinRecord } from '../sensing/twin-record';
import type { TwinRecord } from '../sensing/twin-record';
import { calibrationFault } from './calibration';

export interface Keeping {
  readonly journal: Journal;
  /** The calibration of head position 0 or 1; undefined: none valid. */
  calibration(headPosition: number): Body<'calibration'> | undefined;
  /** Stores a calibration under its next version, which it returns; undefined: the memory failed. */
  replaceCalibration(calibration: Body<'calibration'>): number | undefined;
}

/** Counts this start; the count, or undefined when the memory is missing or laid out otherwise. */
export function countStart(memory: Memory): number | undefined {
  if (openLayout(memory, crc32c) !== 'known') return undefined;
  const boots = openTwinRecord(memory, BOOT_COUNT_ADDRESS, BOOT_COUNT_PLACE_BYTES, crc32c);
  return boots !== undefined && boots.twin.replace([]) ? boots.twin.version() : undefined;
}

/** Opens what the memory keeps, in pieces of some milliseconds. */
export interface KeepingOpening {
  /** One piece more; what is kept when it was the last. */
  proceed(): Keeping | 'more' | 'unreachable';
}

export function openKeeping(memory: Memory): KeepingOpening {
  const journal = openJournal(memory, crc32c);
  const twins: TwinRecord[] = [];
  const calibrations: { [headPosition: number]: Body<'calibration'> | undefined } = {};
  return {
    proceed: () => {
      if (twins.length < CALIBRATION_ADDRESSES.length) {
        const address = CALIBRATION_ADDRESSES[twins.length];
        const opened = openTwinRecord(memory, address, CALIBRATION_PLACE_BYTES, crc32c);
        if (opened === undefined) return 'unreachable';
        calibrations[twins.length] = calibrationOf(opened.content);
        twins.push(opened.twin);
        return 'more';
      }
      const found = journal.proceed();
      return found === 'more' || found === 'unreachable' ? found : keepingOf(found, twins, calibrations);
    },
  };
}

function keepingOf(
  journal: Journal,
  twins: readonly TwinRecord[],
  calibrations: { [headPosition: number]: Body<'calibration'> | undefined },
): Keeping {
  return {
    journal,
    calibration: (headPosition) => calibrations[headPosition],
    replaceCalibration: (calibration) => {
      const twin = twins[calibration.headPosition];
      const version = twin.version() + 1;
      const body: Body<'calibration'> = { ...calibration, version };
      if (!twin.replace(encodeFrame({ name: 'calibration', sequence: 0, body }))) return undefined;
      calibrations[calibration.headPosition] = body;
      return version;
    },
  };
}

/** Whether the memory keeps a pattern and its complement. Touches only the scratch bytes. */
export function memoryKeepsPattern(memory: Memory): boolean {
  for (const first of [0x55, 0xaa]) {
    const pattern: number[] = [];
    for (let i = 0; i < 16; i++) pattern.push((first + i * 17) % 256);
    if (!memory.write(SCRATCH_ADDRESS, pattern)) return false;
    const kept = memory.read(SCRATCH_ADDRESS, 16);
    if (kept === undefined) return false;
    for (let i = 0; i < 16; i++) if (kept[i] !== pattern[i]) return false;
  }
  return true;
}

/**
 * A calibration is kept as the frame that reports it, so that fields appended later are read like on the wire. One that
 * could not be written today is none: an earlier firmware may have let it in.
 */
function calibrationOf(frame: readonly number[] | undefined): Body<'calibration'> | undefined {
  if (frame === undefined) return undefined;
  for (const received of createFrameReader().push(frame)) {
    if (received.kind !== 'message' || received.message.name !== 'calibration') continue;
    return calibrationFault(received.message.body) === undefined ? received.message.body : undefined;
  }
  return undefined;
}
