import { createPrivateKey, sign } from 'node:crypto';
import { rmSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { NumberedError } from '../../../host/errors/errors';
import { sha256 } from '../../../host/ledger/chain';
import { sealText } from '../../../host/ledger/exported-job';
import { foreignJob, importJob } from '../../../host/ledger/export-job';
import { obtainKey } from '../../../host/ledger/keys';
import { verifyExport, verifyLog } from '../../../host/ledger/verify';
import { newFolder, open, opened } from '../../faults/ledger/sample-log';
import { smallExport, type SmallExport } from './exported';
import { RFC_8032_KEYS } from './rfc-8032';
import { refusal } from '../../refusal';

const folder = newFolder();
let small: SmallExport;
let lines: string[];

beforeAll(() => {
  small = smallExport(folder, 'small');
  lines = small.text.split('\n').slice(0, -1);
});
afterAll(() => rmSync(folder, { recursive: true }));

/** What is wrong with it; a file that has not even the form is wrong too. */
function faults(content: string | Buffer): readonly string[] {
  try {
    return verifyExport(Buffer.from(content), 'it', { rejudge: false, programOf: () => undefined }).faults;
  } catch (error) {
    if (error instanceof NumberedError && [253, 261].includes(error.number)) return [error.message];
    throw error;
  }
}

test('as it was written: nothing is wrong', () => {
  expect(faults(small.text)).toEqual([]);
});

// Every eleventh byte here, each with another bit; `npm run prove -- flips` takes every byte of a whole job.
test('a changed byte is found', () => {
  const bytes = Buffer.from(small.text);
  const missed: number[] = [];
  for (let i = 0; i < bytes.length; i += 11) {
    const hurt = Buffer.from(bytes);
    hurt[i] = (hurt[i] ?? 0) ^ (1 << (i % 8));
    if (faults(hurt).length === 0) missed.push(i);
  }
  expect(missed).toEqual([]);
});

test('a dropped, doubled or moved line, and added bytes, are found', () => {
  for (const i of lines.keys()) {
    const without = lines.toSpliced(i, 1);
    const line = lines[i] ?? '';
    expect(faults([...without, ''].join('\n')), `without line ${i + 1}`).not.toEqual([]);
    expect(faults([...lines.toSpliced(i, 0, line), ''].join('\n')), `line ${i + 1} twice`).not.toEqual([]);
    expect(
      faults([...without.toSpliced(i + 1, 0, line), ''].join('\n')).length > 0 || i === lines.length - 1,
      `line ${i + 1} moved`,
    ).toBe(true);
  }
  for (const more of ['\n', ' ', 'x', lines[5] ?? ''])
    expect(faults(small.text + more), JSON.stringify(more)).not.toEqual([]);
});

describe('somebody who makes the seal anew', () => {
  /** Seals these lines with the first key of RFC 8032. */
  function resealed(body: readonly string[]): string {
    const [{ secret, public: publicKey }] = RFC_8032_KEYS;
    const der = Buffer.from(`302e020100300506032b657004220420${secret}`, 'hex');
    const text = [...body, ''].join('\n');
    const hash = sha256(text);
    const key = createPrivateKey({ key: der, format: 'der', type: 'pkcs8' });
    return `${text}seal ${publicKey} ${hash} ${sign(null, Buffer.from(sealText(hash)), key).toString('hex')}\n`;
  }
  const found = (body: readonly string[]) => faults(resealed(body)).join('; ');

  test('without the writer’s key: found', () => {
    expect(found(lines.slice(0, -1))).toBe('the seal is of another key than the events');
  });

  test('each event besides: left out, moved or changed it breaks its own links or signature', () => {
    for (const [i, line] of lines.entries()) {
      if (!line.startsWith('event ')) continue;
      const body = lines.slice(0, -1);
      const others = 'the seal is of another key than the events';
      // The end of a job is vouched for by the seal alone, and key events by those that they make known.
      if (i < body.findLastIndex((l) => l.startsWith('event ')))
        expect(found(body.toSpliced(i, 1)), `without line ${i + 1}`).not.toBe(others);
      expect(found(body.with(i, line.replace(/\}$/, ',"x":1}')))).not.toBe(others);
    }
  });
});

describe('in another shop', () => {
  test('an exported job stands as foreign, whole, searchable, with its own signatures; its own log refuses it', () => {
    const ledger = open(`${folder}/other.swathplane-log`);
    ledger.append(opened(1));
    const content = Buffer.from(small.text);
    const number = importJob(ledger, content, 'it', 'Ola');
    expect(importJob(ledger, content, 'it', 'Ola')).toBe(number);
    ledger.append({ type: 'tightened', job: 1 });
    expect(ledger.search({ serialNumber: 'QB-1' }).map((e) => e.foreign?.importedAs)).toContain(number);
    expect(ledger.jobs().map((e) => e.foreign?.writer)).toEqual([undefined, 'bay one (invented)']);
    const foreign = foreignJob(ledger, number);
    expect(foreign.file).toBe(small.text);
    expect(foreign.events.at(-1)?.event).toMatchObject({ type: 'job closed', decision: 'undecided' });
    // Its events are not in this chain: job 1 here has its own two.
    expect(ledger.events(1)).toHaveLength(2);
    expect(ledger.shopEvents()).toContainEqual(expect.objectContaining({ type: 'heads seen' }));
    expect(verifyLog(ledger, { rejudge: false, programOf: () => undefined }).faults).toEqual([]);
    expect(refusal(() => foreignJob(ledger, 1)).number).toBe(266);
    ledger.close();
    const own = open(small.path);
    expect(refusal(() => importJob(own, content, 'it', 'Ola')).number).toBe(267);
    own.close();
  });

  test('a file that is none: 261, naming the line', () => {
    const wrong = small.text.replace('exported ', 'export ');
    expect(
      refusal(() => verifyExport(Buffer.from(wrong), 'it', { rejudge: false, programOf: () => undefined }))
        .message,
    ).toContain('line 4');
    expect(
      refusal(() =>
        verifyExport(Buffer.from(small.text.replace('swathplane-job 2', 'swathplane-job 3')), 'it', {
          rejudge: false,
          programOf: () => undefined,
        }),
      ).number,
    ).toBe(253);
  });
});

test('a key file is made once', () => {
  const path = `${folder}/key.swathplane-log`;
  expect(obtainKey(path).publicKey).toBe(obtainKey(path).publicKey);
});
