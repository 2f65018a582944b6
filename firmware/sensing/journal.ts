/**
 * The capture journal: keeps each capture, through power loss, until the host has it safe.
 *
 * A slot is one state byte and one record. Only the state byte makes a record count, and a single byte is stored whole
 * or not at all: it is set after the record was read back, and cleared by the acknowledgement. The slot with the
 * highest number is never overwritten, so that after any power loss the next number is known and no number comes twice.
 */
import { JOURNAL_ADDRESS } from './layout';
import { RECORD_HEAD_BYTES, RECORD_OVERHEAD_BYTES, readRecord, u32At, writeRecord } from './record';
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
  contentOf(number: number): readonly number[] | undefined;
  /** Frees a capture's slot. True as well when it is not kept (any more); false when the memory failed. */
  acknowledge(number: number): boolean;
}

/** Looks through the journal a few slots at a time: it takes longer than anybody who wants an answer may have to wait. */
export interface JournalOpening {
  /** One piece more; the journal when it was the last. */
  proceed(): Journal | 'more' | 'unreachable';
}

/** Slots that one piece looks at. */
const SLOTS_AT_ONCE = 4;

/**
 * Captures are read whole and must agree with their checksum. Of a free slot only the number is read, for its age; where
 * it may be the highest, which the next number follows, the whole record has to prove it.
 */
export function openJournal(memory: Memory, checksum: Checksum): JournalOpening {
  const numbers: number[] = [];
  const isKept: boolean[] = [];
  let damaged = 0;

  function look(slot: number): boolean {
    const head = memory.read(slotAddress(slot), 1 + RECORD_HEAD_BYTES);
    if (head === undefined) return false;
    isKept.push(head[0] === KEPT);
    numbers.push(head[RECORD_HEAD_BYTES] > JOURNAL_CONTENT_BYTES_MAX ? 0 : u32At(head, 1));
    return isKept[slot] ? prove(slot) : true;
  }

  /** Whether the slot could be read. One that is no record has no number. */
  function prove(slot: number): boolean {
    const found = readRecord(memory, slotAddress(slot) + 1, checksum);
    if (found.kind === 'unreachable') return false;
    if (found.kind === 'none') {
      numbers[slot] = 0;
      if (isKept[slot]) damaged += 1;
      isKept[slot] = false;
    }
    return true;
  }

  function slotOfHighest(): number {
    let highest = 0;
    for (let slot = 1; slot < JOURNAL_SLOTS; slot++) if (numbers[slot] > numbers[highest]) highest = slot;
    return highest;
  }

  return {
    proceed: () => {
      if (numbers.length < JOURNAL_SLOTS) {
        for (let i = 0; i < SLOTS_AT_ONCE; i++) if (!look(numbers.length)) return 'unreachable';
        return 'more';
      }
      const slot = slotOfHighest();
      const claimed = numbers[slot];
      if (!isKept[slot] && claimed > 0) {
        if (!prove(slot)) return 'unreachable';
        if (numbers[slot] === 0) return 'more';
      }
      // Only one of two equal numbers can be a record: the other is what a torn write left.
      for (let other = 0; other < JOURNAL_SLOTS; other++) {
        if (other !== slot && numbers[other] === claimed && !isKept[other]) numbers[other] = 0;
      }
      return journalOf(memory, checksum, numbers, isKept, damaged);
    },
  };
}

/** The journal whose slots hold these numbers, 0 for none. */
function journalOf(
  memory: Memory,
  checksum: Checksum,
  numbers: number[],
  isKept: boolean[],
  damagedCount: number,
): Journal {
  let highest = 0;
  let keptCount = 0;
  for (let slot = 0; slot < JOURNAL_SLOTS; slot++) {
    if (numbers[slot] > highest) highest = numbers[slot];
    if (isKept[slot]) keptCount += 1;
  }
  /** The content of the highest number, while it is kept and was stored in this start: it is wanted at once. */
  let newest: readonly number[] | undefined = undefined;

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
      newest = content;
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
      if (number === highest && newest !== undefined) return newest;
      const found = readRecord(memory, slotAddress(slot) + 1, checksum);
      return found.kind === 'record' && found.number === number ? found.content : undefined;
    },
    acknowledge: (number) => {
      const slot = slotOf(number);
      if (slot === undefined) return true;
      if (!memory.write(slotAddress(slot), [FREE])) return false;
      isKept[slot] = false;
      keptCount -= 1;
      if (number === highest) newest = undefined;
      return true;
    },
  };
}

function slotAddress(slot: number): number {
  return JOURNAL_ADDRESS + slot * SLOT_BYTES;
}
