/**
 * The key that signs a writer's events: Ed25519 (RFC 8032). The private half is a file beside the log that only its owner
 * may read; the public half stands in the log's chain.
 */
import {
  createPrivateKey,
  createPublicKey,
  generateKeyPairSync,
  sign,
  verify,
  type KeyObject,
} from 'node:crypto';
import { existsSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { numberedError } from '../errors/errors';
import { sha256 } from './chain';

export interface SigningKey {
  /** 32 bytes as 64 hexadecimal digits. */
  readonly publicKey: string;
  /** 64 bytes as 128 hexadecimal digits, over the text as UTF-8. */
  sign(text: string): string;
}

/** SHA-256 of the 32 bytes of a public key, hexadecimal: by this a shop knows its key. */
export function fingerprintOf(publicKey: string): string {
  return sha256(Buffer.from(publicKey, 'hex'));
}

/** Whether the signature over the text is this key's. False for anything malformed. */
export function signatureHolds(publicKey: string, text: string, signature: string): boolean {
  if (!/^[0-9a-f]{64}$/.test(publicKey) || !/^[0-9a-f]{128}$/.test(signature)) return false;
  try {
    return verify(null, Buffer.from(text), publicKeyObject(publicKey), Buffer.from(signature, 'hex'));
  } catch {
    return false;
  }
}

/** What the key that takes over signs, to prove that whoever changes the key holds it. */
export function changeText(writer: string, before: string, publicKey: string): string {
  return `swathplane key change\n${writer}\n${before}\n${publicKey}\n`;
}

export const keyPathOf = (logPath: string) => `${logPath}-key`;
const nextKeyPathOf = (logPath: string) => `${logPath}-key-next`;

/** Makes a key for a new log, or takes the one that stands there already. Throws 255 when it cannot be written. */
export function obtainKey(logPath: string): SigningKey {
  const path = keyPathOf(logPath);
  return existsSync(path) ? readKey(logPath) : makeKeyFile(path);
}

/** Throws 259 when the file is not there, not readable or holds no Ed25519 key. */
export function readKey(logPath: string): SigningKey {
  return keyIn(keyPathOf(logPath));
}

/** Makes the key that is to take over. It signs nothing before `takeOver`. */
export function makeNextKey(logPath: string): SigningKey {
  rmSync(nextKeyPathOf(logPath), { force: true });
  return makeKeyFile(nextKeyPathOf(logPath));
}

/** Puts the next key in the place of the old one, whose private half is gone with that. */
export function takeOver(logPath: string): void {
  renameSync(nextKeyPathOf(logPath), keyPathOf(logPath));
}

/** After a crash between the event and `takeOver` the key that the chain names stands in the next key's place. */
export function finishTakeOver(logPath: string, publicKey: string): boolean {
  const next = nextKeyPathOf(logPath);
  if (!existsSync(next) || keyIn(next).publicKey !== publicKey) return false;
  takeOver(logPath);
  return true;
}

/** Whether others than the owner may read or write the key file. Always false where files have no such mode (Windows). */
export function openToOthers(logPath: string): boolean {
  return process.platform !== 'win32' && (statSync(keyPathOf(logPath)).mode & 0o077) !== 0;
}

function makeKeyFile(path: string): SigningKey {
  const { privateKey } = generateKeyPairSync('ed25519');
  const part = `${path}-part`;
  try {
    const pem = privateKey.export({ type: 'pkcs8', format: 'pem' });
    // Flushed and whole or not there: no log ever names a key that a power cut took away.
    rmSync(part, { force: true });
    writeFileSync(part, pem, { mode: 0o600, flag: 'wx', flush: true });
    renameSync(part, path);
  } catch (cause) {
    const isFull = cause instanceof Error && 'code' in cause && cause.code === 'ENOSPC';
    if (isFull) rmSync(part, { force: true });
    throw numberedError(isFull ? 'disk full' : 'log not writable', path, cause);
  }
  return signingKey(privateKey);
}

function keyIn(path: string): SigningKey {
  try {
    const key = createPrivateKey(readFileSync(path));
    if (key.asymmetricKeyType !== 'ed25519') throw new TypeError('not an Ed25519 key');
    return signingKey(key);
  } catch (cause) {
    throw numberedError(
      'signing key missing',
      `${path}: ${cause instanceof Error ? cause.message : ''}`,
      cause,
    );
  }
}

function signingKey(privateKey: KeyObject): SigningKey {
  const spki = createPublicKey(privateKey).export({ type: 'spki', format: 'der' });
  return {
    publicKey: spki.subarray(SPKI_START.length).toString('hex'),
    sign: (text) => sign(null, Buffer.from(text), privateKey).toString('hex'),
  };
}

/** What stands before the 32 bytes of an Ed25519 key in SubjectPublicKeyInfo (RFC 8410, section 4). */
const SPKI_START = Buffer.from('302a300506032b6570032100', 'hex');

/** The last key asked for: a log is signed by one key for thousands of events. */
let lastUsed: { readonly publicKey: string; readonly object: KeyObject } | undefined;

function publicKeyObject(publicKey: string): KeyObject {
  if (lastUsed?.publicKey !== publicKey) {
    const der = Buffer.concat([SPKI_START, Buffer.from(publicKey, 'hex')]);
    lastUsed = { publicKey, object: createPublicKey({ key: der, type: 'spki', format: 'der' }) };
  }
  return lastUsed.object;
}
