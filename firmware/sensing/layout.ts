/** Where things lie in the memory. Another arrangement gets another LAYOUT_VERSION. */
import { readRecord, writeRecord } from './record';
import type { Checksum, Memory } from './record';

export const LAYOUT_VERSION = 1;

/** Two copies of the header, each a record: number is the layout's version, content the mark. */
const HEADERS: readonly number[] = [0x0000, 0x0020];
/** Sixteen bytes for the self test's pattern. */
export const SCRATCH_ADDRESS = 0x0040;
/** Twin record whose version is the boot count; it has no content. */
export const BOOT_COUNT_ADDRESS = 0x0060;
export const BOOT_COUNT_PLACE_BYTES = 16;
/** Twin records, one for each head position: low, high. */
export const CALIBRATION_ADDRESSES: readonly number[] = [0x0100, 0x0320];
export const CALIBRATION_PLACE_BYTES = 272;
export const JOURNAL_ADDRESS = 0x0800;

/** ASCII of SWPL: what lies here is ours. */
const MARK: readonly number[] = [0x53, 0x57, 0x50, 0x4c];

/**
 * Makes sure that the memory is laid out as this firmware knows it; the second copy is asked only when the first is none.
 * A memory without a header is formatted: all else in it carries checksums, so nothing but the header needs writing.
 */
export function openLayout(memory: Memory, checksum: Checksum): 'known' | 'other version' | 'unreachable' {
  for (const address of HEADERS) {
    const found = readRecord(memory, address, checksum);
    if (found.kind === 'unreachable') return 'unreachable';
    if (found.kind === 'record' && isMark(found.content)) {
      return found.number === LAYOUT_VERSION ? 'known' : 'other version';
    }
  }
  for (const address of HEADERS) {
    if (!writeRecord(memory, address, checksum, LAYOUT_VERSION, MARK)) return 'unreachable';
  }
  return 'known';
}

function isMark(content: readonly number[]): boolean {
  if (content.length !== MARK.length) return false;
  for (let i = 0; i < MARK.length; i++) if (content[i] !== MARK[i]) return false;
  return true;
}
