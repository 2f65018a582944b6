/** Exported jobs through programs that share nothing with this project: a verifier written from FORMAT.md, and openssl. */
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openLedgerForReading } from '../../host/ledger/ledger';
import { smallExport, type SmallExport } from '../unit/ledger/exported';
import { RFC_8032_KEYS } from '../unit/ledger/rfc-8032';
import { newFolder } from '../faults/ledger/sample-log';
import { named, NO_OPENSSL, NO_PYTHON, run, verifyInPython } from './tools';

const folder = newFolder();
let small: SmallExport;
const file = join(folder, 'job.swathplane-job');

beforeAll(() => {
  small = smallExport(folder, 'outside');
  writeFileSync(file, small.text);
});
afterAll(() => rmSync(folder, { recursive: true }));

describe.skipIf(NO_PYTHON)(
  named('the verifier from FORMAT.md', NO_PYTHON, 'python3'),
  { timeout: 120_000 },
  () => {
    it('finds the export in order, and names its key as this tool does', () => {
      const log = openLedgerForReading(small.path);
      const fingerprint = log.seal()?.fingerprint ?? '';
      log.close();
      expect(verifyInPython(file)).toEqual({ code: 0, said: expect.stringContaining(fingerprint) as string });
      expect(verifyInPython(file, fingerprint).code).toBe(0);
      expect(verifyInPython(file, '0'.repeat(64)).code).toBe(1);
    });

    it('finds changed bytes, in every kind of line', () => {
      const bytes = readFileSync(file);
      const hurtFile = join(folder, 'hurt.swathplane-job');
      const starts = [...small.text.matchAll(/^\S+/gm)].map((m) =>
        Buffer.byteLength(small.text.slice(0, m.index)),
      );
      for (const start of starts) {
        const hurt = Buffer.from(bytes);
        const at = Math.min(start + 40, bytes.length - 2);
        hurt[at] = (hurt[at] ?? 0) ^ 1;
        writeFileSync(hurtFile, hurt);
        expect(verifyInPython(hurtFile).code, `byte ${at}`).not.toBe(0);
      }
    });

    it('its Ed25519 is that of RFC 8032, section 7.1', () => {
      for (const { public: key, message, signature } of RFC_8032_KEYS) {
        const program = `import sys; sys.path.insert(0, 'tests/outside'); import verify_job as v; print(v.holds('${key}', bytes.fromhex('${message}'), '${signature}'), v.holds('${key}', bytes.fromhex('${message}00'), '${signature}'))`;
        expect(run('python3', ['-B', '-c', program]).trim()).toBe('True False');
      }
    });
  },
);

describe.skipIf(NO_OPENSSL)(named('openssl', NO_OPENSSL, 'openssl'), { timeout: 60_000 }, () => {
  it('computes the hash and accepts the signature of every event of the log', () => {
    const log = openLedgerForReading(small.path);
    const events = log.rawEvents(0, 100);
    const keyOf = (sequence: number) => log.seal(sequence)?.publicKey ?? '';
    for (const event of events) {
      const { writer, sequence, at, previous, jobPrevious, eventJson, hash, signature } = event;
      const lines = [writer, sequence, at, previous, jobPrevious, eventJson, ''].join('\n');
      expect(run('openssl', ['dgst', '-sha256', '-r'], lines).slice(0, 64)).toBe(hash);
      const [key, text, signed] = ['key.der', 'hash.txt', 'hash.sig'].map((name) => join(folder, name));
      if (key === undefined || text === undefined || signed === undefined) throw new Error('no name');
      // SubjectPublicKeyInfo of an Ed25519 key: RFC 8410, section 4.
      writeFileSync(key, Buffer.from(`302a300506032b6570032100${keyOf(sequence)}`, 'hex'));
      writeFileSync(text, hash);
      writeFileSync(signed, Buffer.from(signature, 'hex'));
      const args = ['pkeyutl', '-verify', '-pubin', '-keyform', 'DER', '-inkey', key, '-rawin', '-in', text];
      expect(run('openssl', [...args, '-sigfile', signed])).toContain('Verified Successfully');
    }
    log.close();
  });
});
