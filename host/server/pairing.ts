/** A screen on the network is paired once, by a code that only the computer of the bay shows. */
import { createHmac, randomBytes, randomInt, timingSafeEqual } from 'node:crypto';
import { numberedError } from '../errors/errors';

export interface Pairing {
  /** What the computer of the bay shows. Another one after some wrong tries. */
  code(): string;
  /** Takes a code and gives what the screen shows from now on. Throws 502, and 506 when too many were tried. */
  pair(code: string): string;
  knows(token: string): boolean;
}

export interface PairingOptions {
  /** Kept with the log, so that a screen stays paired when the server starts again. At least 32 bytes. */
  readonly secret: Uint8Array;
  readonly nowMs: () => number;
  /** A new code is to be shown. */
  readonly show: (code: string) => void;
}

const DIGITS = 8;
/** Wrong codes after which a new one is shown, and how long no code is taken then. */
const TRIES = 5;
const PAUSE_MS = 30_000;

/** 5 tries in 30 s among 10^8 codes: by guessing all day long less than 1.5 in 10,000 come in (14,400 tries). */
export function createPairing({ secret, nowMs, show }: PairingOptions): Pairing {
  let code = newCode();
  let wrong = 0;
  let pausedUntil = -Infinity;
  const sign = (id: string) => createHmac('sha256', secret).update(id).digest('hex');
  show(code);
  return {
    code: () => code,
    pair: (tried) => {
      if (nowMs() < pausedUntil)
        throw numberedError('too many requests', `wait ${Math.ceil((pausedUntil - nowMs()) / 1000)} s`);
      if (!isSame(tried.replace(/\D/g, ''), code)) {
        wrong += 1;
        if (wrong >= TRIES) {
          wrong = 0;
          pausedUntil = nowMs() + PAUSE_MS;
          code = newCode();
          show(code);
        }
        throw numberedError('pairing refused');
      }
      wrong = 0;
      const id = randomBytes(16).toString('hex');
      return `${id}.${sign(id)}`;
    },
    knows: (token) => {
      const [id = '', signature = ''] = token.split('.');
      return isSame(signature, sign(id));
    },
  };
}

function newCode(): string {
  return String(randomInt(10 ** DIGITS)).padStart(DIGITS, '0');
}

function isSame(a: string, b: string): boolean {
  return a.length === b.length && timingSafeEqual(Buffer.from(a), Buffer.from(b));
}
