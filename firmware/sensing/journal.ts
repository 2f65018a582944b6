/**
 * The capture journal: keeps each capture, through power loss, until the host has it safe.
 *
 * A slot is one state byte and one record. Only the state byte makes a record count, and a single byte is stored whole
 * or not at all: it is set after the record was read back, and cleared by the acknowledgement. The slot with the
 * highest number is never overwritten, so that after any power loss the next number is known and no number comes twice.
 */
import { JOURNAL_ADDRESS } from './layout';
import { RECORD_OVERHEAD_BYTES, readRecord, writeRecord } from './record';
import type { Checksum, Memory } from './record';

export const JOURNAL_SLOTS = 64;
const SLOT_BYTES = 128;
/** The longest content of one capture. */
export const JOURNAL_CONTENT_BYTES_MAX = SLOT_BYTES - 1 - RECORD_OVERHEAD_BYTES;

const KEPT = 0xa5;
const FREE = 0x00;

export interface Journal {
  /** The number that the next capture gets. */
  nextNumber(): number;
  /** Captures not yet acknowledged. */
  kept(): number;
  /** Captures that still fit: the slots without one, and none where the newest capture's is the only such slot. */
  free(): number;
  /** Slots that ought to hold a capture but whose checksum failed when the journal was opened. */
  damaged(): number;
  /** Stores `content` under `nextNumber()`. False: the journal is full or the memory failed, and nothing counts. */
  keep(content: readonly number[]): boolean;
  /** The lowest kept number that is at least `number`; undefined: none. */
  firstFrom(number: number): number | undefined;
  /** Content of a kept capture; undefined when it is not kept or the memory does not answer. */
  contentOf(number: number): number[] | undefined;
  /** Frees a capture's slot. True as well when it is not kept (any more); false when the memory failed. */
  acknowledge(number: number): boolean;
}

/** Reads the journal; undefined when the memory is unreachable. */
export function openJournal(memory: Memory, checksum: Checksum): Journal | undefined {
  /** Number of the record in each slot, 0 for none, and whether it is kept. */
  const numbers: number[] = [];
  const isKept: boolean[] = [];
  let highest = 0;
  let keptCount = 0;
  let damagedCount = 0;

  for (let slot = 0; slot < JOURNAL_SLOTS; slot++) {
    const state = memory.read(slotAddress(slot), 1);
    const found = readRecord(memory, slotAddress(slot) + 1, checksum);
    if (state === undefined || found.kind === 'unreachable') return undefined;
    numbers.push(found.kind === 'record' ? found.number : 0);
    isKept.push(found.kind === 'record' && state[0] === KEPT);
    if (found.kind === 'record' && found.number > highest) highest = found.number;
    if (isKept[slot]) keptCount += 1;
    else if (state[0] === KEPT) damagedCount += 1;
  }

  function slotOf(number: number): number | undefined {
    for (let slot = 0; slot < JOURNAL_SLOTS; slot++)
      if (isKept[slot] && numbers[slot] === number) return slot;
    return undefined;
  }

  /** The free slot with the oldest record, leaving out the one with the highest number. */
  function oldestFree(): number | undefined {
    let best: number | undefined = undefined;
    for (let slot = 0; slot < JOURNAL_SLOTS; slot++) {
      if (isKept[slot] || (numbers[slot] === highest && highest > 0)) continue;
      if (best === undefined || numbers[slot] < numbers[best]) best = slot;
    }
    return best;
  }

  return {
    nextNumber: () => highest + 1,
    kept: () => keptCount,
    // As soon as one more is kept the slot of the highest number before it is free to overwrite.
    free: () => (oldestFree() === undefined ? 0 : JOURNAL_SLOTS - keptCount),
    damaged: () => damagedCount,
    keep: (content) => {
      const slot = oldestFree();
      if (slot === undefined) return false;
      const address = slotAddress(slot);
      // The state is cleared first: a blank or damaged slot may hold any byte there.
      numbers[slot] = 0;
      if (!memory.write(address, [FREE])) return false;
      if (!writeRecord(memory, address + 1, checksum, highest + 1, content)) return false;
      if (!memory.write(address, [KEPT])) return false;
      highest += 1;
      numbers[slot] = highest;
      isKept[slot] = true;
      keptCount += 1;
      return true;
    },
    firstFrom: (number) => {
      let first: number | undefined = undefined;
      for (let slot = 0; slot < JOURNAL_SLOTS; slot++) {
        if (!isKept[slot] || numbers[slot] < number) continue;
        if (first === undefined || numbers[slot] < first) first = numbers[slot];
      }
      return first;
    },
    contentOf: (number) => {
      const slot = slotOf(number);
      if (slot === undefined) return undefined;
      const found = readRecord(memory, slotAddress(slot) + 1, checksum);
      return found.kind === 'record' && found.number === number ? found.content : undefined;
    },
    acknowledge: (number) => {
      const slot = slotOf(number);
      if (slot === undefined) return true;
      if (!memory.write(slotAddress(slot), [FREE])) return false;
      isKept[slot] = false;
      keptCount -= 1;
      return true;
    },
  };
}

function slotAddress(slot: number): number {
  return JOURNAL_ADDRESS + slot * SLOT_BYTES;
}
