/** Power cut at every byte of every write. What must hold is said by the tests themselves; no outside figure is needed. */
import { expect, it } from 'vitest';
import { createMemoryPart as createMemoryDriver } from '../../../firmware/drivers/memory';
import { JOURNAL_SLOTS, openJournal } from '../../../firmware/sensing/journal';
import type { Journal } from '../../../firmware/sensing/journal';
import { openLayout } from '../../../firmware/sensing/layout';
import { readRecord, writeRecord } from '../../../firmware/sensing/record';
import { openTwinRecord } from '../../../firmware/sensing/twin-record';
import { createPartsBus } from '../../../host/simulation/parts/bus';
import { createMemoryPart } from '../../../host/simulation/parts/memory';
import { seededRandom } from '../../../host/simulation/random';
import { crc32c } from '../../../protocol/wire';

/** The driver on a memory that loses power after so many stored bytes. */
function memoryOn(content: Uint8Array, cutAfter = Infinity) {
  const part = createMemoryPart(content);
  part.cutAfter(cutAfter);
  return { part, driver: createMemoryDriver(createPartsBus([part])) };
}

const open = (content: Uint8Array) => openedOn(memoryOn(content).driver)!;
function openedOn(driver: ReturnType<typeof createMemoryDriver>): Journal | undefined {
  const opening = openJournal(driver, crc32c);
  for (;;) {
    const found = opening.proceed();
    if (found !== 'more') return found === 'unreachable' ? undefined : found;
  }
}

const capture = (number: number) => Array.from({ length: 82 }, (_, i) => (number * 31 + i * 7) % 256);

function keptNumbers(content: Uint8Array): number[] {
  const journal = open(content);
  const numbers: number[] = [];
  for (let n = journal.firstFrom(0); n !== undefined; n = journal.firstFrom(n + 1)) numbers.push(n);
  return numbers;
}

it('keeps captures in order across power loss, frees them when acknowledged, and is full at its size', () => {
  const content = new Uint8Array(32768).fill(0xff);
  const journal = open(content);
  for (let n = 1; n <= JOURNAL_SLOTS; n++) expect(journal.keep(capture(n))).toBe(true);
  expect(journal.free()).toBe(0);
  expect(journal.keep(capture(99))).toBe(false);

  const again = open(content);
  expect(again.kept()).toBe(JOURNAL_SLOTS);
  expect(again.contentOf(17)).toEqual(capture(17));
  expect(again.acknowledge(17)).toBe(true);
  expect(again.acknowledge(17)).toBe(true);
  expect(again.acknowledge(12345)).toBe(true);
  expect(again.contentOf(17)).toBeUndefined();
  expect(again.keep(capture(65))).toBe(true);
  expect(again.keep(capture(66))).toBe(false);
  expect(keptNumbers(content)).toEqual(
    [...Array.from({ length: 64 }, (_, i) => i + 1), 65].filter((n) => n !== 17),
  );
});

/** What was announced and what was acknowledged, as a host that never errs remembers it. */
function soak(seed: number, cuts: number): void {
  const random = seededRandom(seed);
  const content = new Uint8Array(32768);
  const waiting = new Map<number, number[]>();
  let highest = 0;
  for (let life = 0; life < cuts; life++) {
    const { part, driver } = memoryOn(content, Math.floor(random.between(0, 500)));
    const journal = openedOn(driver);
    if (journal === undefined) continue;
    expect(keptNumbers(content).sort((a, b) => a - b)).toEqual([...waiting.keys()].sort((a, b) => a - b));
    while (!part.powerIsOut()) {
      const oldest = journal.firstFrom(0);
      if (oldest !== undefined && random.chance(0.5)) {
        const done = journal.acknowledge(oldest);
        // Cut at the very byte, the acknowledgement may have been stored without being told: both are right.
        if (done || !keptNumbers(content).includes(oldest)) waiting.delete(oldest);
        continue;
      }
      const number = journal.nextNumber();
      const bytes = capture(number);
      const told = journal.keep(bytes);
      if (told || keptNumbers(content).includes(number)) {
        expect(number).toBeGreaterThan(highest);
        highest = number;
        waiting.set(number, bytes);
      } else if (journal.free() === 0) {
        journal.acknowledge(oldest!);
        waiting.delete(oldest!);
      }
    }
  }
  const journal = open(content);
  expect(journal.damaged()).toBe(0);
  for (const [number, bytes] of waiting) expect(journal.contentOf(number)).toEqual(bytes);
  expect(highest).toBeGreaterThan(cuts / 2);
}

it('over hundreds of power cuts loses no announced capture and gives no number twice', () => {
  for (let seed = 1; seed <= 5; seed++) soak(seed, 120);
});

it('a capture or acknowledgement cut at any byte leaves the journal as before or as after', () => {
  for (const filled of [0, 1, 30, JOURNAL_SLOTS - 1]) {
    const before = new Uint8Array(32768);
    const journal = open(before);
    for (let n = 1; n <= filled; n++) journal.keep(capture(n));
    const was = keptNumbers(before);

    for (let cut = 0; cut <= 120; cut++) {
      const content = before.slice();
      const { part, driver } = memoryOn(content);
      const cutting = openedOn(driver)!;
      part.cutAfter(cut);
      const told = cutting.keep(capture(filled + 1));
      const now = keptNumbers(content);
      expect([was, [...was, filled + 1]]).toContainEqual(now);
      if (told) expect(now).toEqual([...was, filled + 1]);
      expect(open(content).damaged()).toBe(0);
      expect(open(content).nextNumber()).toBeGreaterThan(filled);
    }
    for (const cut of [0, 1, 2]) {
      const content = before.slice();
      const { part, driver } = memoryOn(content);
      const cutting = openedOn(driver)!;
      part.cutAfter(cut);
      cutting.acknowledge(filled);
      expect(keptNumbers(content)).toEqual(cut === 0 ? was : was.filter((n) => n !== filled));
    }
  }
});

it('the number of an acknowledged capture does not come again, not even when only its slot is free', () => {
  const content = new Uint8Array(32768);
  const journal = open(content);
  for (let n = 1; n <= JOURNAL_SLOTS; n++) journal.keep(capture(n));
  journal.acknowledge(JOURNAL_SLOTS);
  expect(journal.free()).toBe(0);
  expect(journal.keep(capture(65))).toBe(false);
  expect(open(content).nextNumber()).toBe(JOURNAL_SLOTS + 1);
});

it('says how many captures still fit: as many as it then really takes, in every state that keeping and freeing leave', () => {
  const random = seededRandom(11);
  const content = new Uint8Array(32768);
  const journal = open(content);
  const held: number[] = [];
  const fits = () => {
    const copy = open(content.slice());
    let taken = 0;
    while (copy.keep(capture(1))) taken += 1;
    return taken;
  };
  let freeAgain = 0;
  for (let round = 0; round < 400; round++) {
    // Fills up and empties by turns, the newest first as often as another: both ends are reached.
    const filling = Math.floor(round / 80) % 2 === 0;
    if (random.between(0, 1) < (filling ? 0.9 : 0.1)) {
      if (journal.keep(capture(1))) held.push(journal.nextNumber() - 1);
    } else if (held.length > 0) {
      const at = random.between(0, 1) < 0.5 ? held.length - 1 : Math.floor(random.between(0, held.length));
      journal.acknowledge(held.splice(at, 1)[0]);
    }
    expect([journal.kept(), journal.free()]).toEqual([held.length, fits()]);
    if (journal.free() === JOURNAL_SLOTS) freeAgain += 1;
    // One slot less only where the newest capture's is the only one without a capture.
    if (held.length < JOURNAL_SLOTS - 1) expect(journal.free()).toBe(JOURNAL_SLOTS - held.length);
  }
  expect(freeAgain).toBeGreaterThan(0);
});

it('a calibration cut at any byte leaves the old one or the new one', () => {
  const old = Array.from({ length: 190 }, (_, i) => i);
  const next = Array.from({ length: 201 }, (_, i) => 255 - i);
  for (const writesBefore of [1, 2, 3]) {
    const before = new Uint8Array(32768);
    const { twin } = openTwinRecord(memoryOn(before).driver, 0x100, 272, crc32c)!;
    for (let i = 0; i < writesBefore; i++) twin.replace(old);
    for (let cut = 0; cut <= 215; cut++) {
      const content = before.slice();
      const { part, driver } = memoryOn(content);
      const { twin: cutting } = openTwinRecord(driver, 0x100, 272, crc32c)!;
      part.cutAfter(cut);
      const told = cutting.replace(next);
      const found = openTwinRecord(memoryOn(content).driver, 0x100, 272, crc32c)!;
      if (told) expect(found.twin.version()).toBe(writesBefore + 1);
      expect(found.content).toEqual(found.twin.version() === writesBefore ? old : next);
    }
  }
});

it('a blank memory is laid out, a torn layout is finished, another version is refused', () => {
  for (let cut = 0; cut <= 26; cut++) {
    const content = new Uint8Array(32768).fill(0xff);
    openLayout(memoryOn(content, cut).driver, crc32c);
    expect(openLayout(memoryOn(content).driver, crc32c)).toBe('known');
  }
  const content = new Uint8Array(32768);
  writeRecord(memoryOn(content).driver, 0, crc32c, 2, [0x53, 0x57, 0x50, 0x4c]);
  expect(openLayout(memoryOn(content).driver, crc32c)).toBe('other version');
  expect(readRecord(memoryOn(content).driver, 0, crc32c).kind).toBe('record');
});
