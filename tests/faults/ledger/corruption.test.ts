import { copyFileSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { NumberedError } from '../../../host/errors/errors';
import { openLedgerForReading } from '../../../host/ledger/ledger';
import { Sql } from '../../../host/ledger/database';
import type { StoredEvent } from '../../../host/ledger/events';
import { newFolder, open, refusal, writeSample } from './sample-log';

const folder = newFolder();
const good = join(folder, 'good.swathplane-log');
const hurt = join(folder, 'hurt.swathplane-log');
let written: StoredEvent[];

beforeAll(() => {
  written = writeSample(good);
});
afterAll(() => rmSync(folder, { recursive: true }));

function freshCopy(): void {
  for (const side of ['-wal', '-shm', '-writer']) rmSync(hurt + side, { force: true });
  copyFileSync(good, hurt);
}

/** Reads the log in every way there is. */
function readAll(path: string): StoredEvent[] {
  const log = openLedgerForReading(path);
  try {
    log.verify();
    log.jobs();
    log.highestCapture('fixture-7');
    return [...log.events(1), ...log.events(2)];
  } finally {
    log.close();
  }
}

describe('bytes that changed on the disk', () => {
  test('500 times up to eight random bytes: refused by number, or every event as it was written', () => {
    const generator = xoroshiro128plus(20260102);
    const clean = readFileSync(good);
    let refused = 0;
    for (let trial = 0; trial < 500; trial += 1) {
      freshCopy();
      const bytes = Buffer.from(clean);
      for (let i = uniformInt(generator, 1, 8); i > 0; i -= 1) {
        bytes[uniformInt(generator, 0, bytes.length - 1)] = uniformInt(generator, 0, 255);
      }
      writeFileSync(hurt, bytes);
      try {
        expect(readAll(hurt)).toEqual(written);
      } catch (error) {
        if (!(error instanceof NumberedError)) throw error;
        expect([252, 253, 255]).toContain(error.number);
        refused += 1;
      }
    }
    console.log(`${refused} of 500 damaged logs refused`);
    // Most of the file is text of events: damage that passes must lie in free space.
    expect(refused).toBeGreaterThan(250);
  });
});
