import { createPrivateKey } from 'node:crypto';
import { copyFileSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { sha256 } from '../../../host/ledger/chain';
import { makeNextKey, obtainKey, openToOthers, signatureHolds, takeOver } from '../../../host/ledger/keys';
import { openLedger, openLedgerForReading } from '../../../host/ledger/ledger';
import { KEY, WRITER, newFolder, open, turned, writeSample } from '../../faults/ledger/sample-log';
import { RFC_8032_KEYS } from './rfc-8032';
import { refusal } from '../../refusal';

const folder = newFolder();
afterAll(() => rmSync(folder, { recursive: true }));
let logs = 0;
const newPath = () => join(folder, `${(logs += 1)}.swathplane-log`);

describe('signatures', () => {
  test.each(RFC_8032_KEYS)('RFC 8032, section 7.1, key $public', (vector) => {
    const path = newPath();
    const der = `302e020100300506032b657004220420${vector.secret}`;
    const key = createPrivateKey({ key: Buffer.from(der, 'hex'), format: 'der', type: 'pkcs8' });
    writeFileSync(`${path}-key`, key.export({ type: 'pkcs8', format: 'pem' }));
    const ours = obtainKey(path);
    expect(ours.publicKey).toBe(vector.public);
    // The RFC's third message is no UTF-8, and only texts are signed here.
    if (vector.message === 'af82') return;
    const message = Buffer.from(vector.message, 'hex').toString();
    expect(ours.sign(message)).toBe(vector.signature);
    expect(signatureHolds(vector.public, message, vector.signature)).toBe(true);
    expect(signatureHolds(vector.public, `${message}x`, vector.signature)).toBe(false);
  });

  test('a signature plus the order of the group, which holds by the equation alone, is refused (RFC 8032, 5.1.7)', () => {
    const [{ public: publicKey, signature }] = RFC_8032_KEYS;
    const order = (1n << 252n) + 27742317777372353535851937790883648493n;
    const s = BigInt(`0x${Buffer.from(signature.slice(64), 'hex').reverse().toString('hex')}`) + order;
    const bytes = Buffer.from(s.toString(16).padStart(64, '0'), 'hex').reverse();
    expect(signatureHolds(publicKey, '', signature.slice(0, 64) + bytes.toString('hex'))).toBe(false);
  });

  test('SHA-256 of FIPS 180-4’s example "abc"', () => {
    expect(sha256('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  });
});

describe('the key of a log', () => {
  test('is made with it, may be read by its owner only, and signs every event', () => {
    const path = newPath();
    writeSample(path);
    expect(statSync(`${path}-key`).mode & 0o777).toBe(0o600);
    expect(openToOthers(path)).toBe(false);
    const log = openLedgerForReading(path);
    const seal = log.seal();
    const raw = log.rawEvents(0, 1000);
    log.close();
    expect(raw).toHaveLength(KEY + 82);
    expect(raw.every((e) => signatureHolds(seal?.publicKey ?? '', e.hash, e.signature))).toBe(true);
    expect(seal).toMatchObject({ writer: WRITER, sequence: 83, hash: raw.at(-1)?.hash });
    expect(seal?.fingerprint).toBe(sha256(Buffer.from(seal?.publicKey ?? '', 'hex')));
  });

  test('changes: signed by both, the old one is gone, everything still verifies', () => {
    const path = newPath();
    writeSample(path);
    const before = readFileSync(`${path}-key`, 'utf8');
    const ledger = open(path);
    const changed = ledger.changeKey('the owner left');
    ledger.append(turned(2, 1));
    expect(ledger.verify().events).toBe(KEY + 84);
    const [old, current] = [ledger.seal(83), ledger.seal(85)];
    expect(ledger.seal(84)?.publicKey).toBe(old?.publicKey);
    expect(changed.event).toMatchObject({ before: old?.publicKey, publicKey: current?.publicKey });
    ledger.close();
    expect(readFileSync(`${path}-key`, 'utf8')).not.toBe(before);
    // The old key signs no more.
    writeFileSync(`${path}-key`, before);
    expect(refusal(() => open(path)).number).toBe(260);
  });

  test('a crash before the new key took the old one’s place: the next opening finishes it', () => {
    const path = newPath();
    writeSample(path);
    copyFileSync(`${path}-key`, join(folder, 'old-key'));
    const ledger = open(path);
    ledger.changeKey('trial');
    ledger.close();
    copyFileSync(`${path}-key`, `${path}-key-next`);
    copyFileSync(join(folder, 'old-key'), `${path}-key`);
    const again = open(path);
    again.append(turned(2, 1));
    expect(again.verify().events).toBe(KEY + 84);
    again.close();
  });

  test('a crash before the change was written: the old key goes on and the new one is forgotten', () => {
    const path = newPath();
    writeSample(path);
    makeNextKey(path);
    const ledger = open(path);
    ledger.append(turned(2, 1));
    expect(ledger.verify().events).toBe(KEY + 83);
    ledger.close();
  });

  test('missing: 259 for writing, and nothing changed; lost for good: a new one goes on, and nothing vouches for it', () => {
    const path = newPath();
    writeSample(path);
    rmSync(`${path}-key`);
    const before = readFileSync(path);
    expect(refusal(() => open(path)).number).toBe(259);
    expect(readFileSync(path)).toEqual(before);
    openLedger(path, {
      writer: WRITER,
      now: () => new Date(),
      keyLost: 'the disk of the office broke',
    }).close();
    const ledger = openLedger(path, { writer: WRITER, now: () => new Date() });
    ledger.append(turned(2, 1));
    expect(ledger.verify().events).toBe(KEY + 84);
    expect(ledger.shopEvents().at(-1)).toMatchObject({ type: 'key changed', lost: true });
    ledger.close();
  });

  test('another log’s key: 260', () => {
    const [mine, theirs] = [newPath(), newPath()];
    writeSample(mine);
    makeNextKey(theirs);
    takeOver(theirs);
    copyFileSync(`${theirs}-key`, `${mine}-key`);
    expect(refusal(() => open(mine)).number).toBe(260);
  });
});
