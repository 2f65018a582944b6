/** What vouches for a record, in a form that can be printed, read aloud and compared a year later. */
import type { Seal } from '../ledger/ledger';

/** Where a chain stood: an event's writer, number and hash. */
export type Head = Pick<Seal, 'writer' | 'sequence' | 'hash'>;

export interface SealView extends Head {
  /** Sixteen digits made of the hash, in groups of four: to be read aloud or typed. The hash itself is what counts. */
  readonly short: string;
  /** Left out where the key is not at hand. */
  readonly key?: { readonly fingerprint: string; readonly short: string; readonly signature: string };
  /** What a signature shows, and what it cannot: to be printed with it. */
  readonly proves: string;
  readonly provesNot: string;
}

export const SIGNATURE_PROVES =
  'The signature proves that nothing of this record was changed, taken out or moved since the holder of this key signed it.';
export const SIGNATURE_PROVES_NOT =
  'It does not prove that the time is right, that the readings were taken honestly, or who held the key. Whoever holds the key could write the whole log anew: compare the check number on a printed sheet with the log.';

/** Pure: of an event of a log (`ledger.seal(sequence)`), or of a head alone. */
export function sealView(head: Head | Seal): SealView {
  const { writer, sequence, hash } = head;
  return {
    writer,
    sequence,
    hash,
    short: shortForm(hash),
    ...('fingerprint' in head
      ? {
          key: {
            fingerprint: head.fingerprint,
            short: shortForm(head.fingerprint),
            signature: head.signature,
          },
        }
      : {}),
    proves: SIGNATURE_PROVES,
    provesNot: SIGNATURE_PROVES_NOT,
  };
}

const GROUPS = 4;
const DIGITS = 4;

/**
 * The first 64 bits of a hexadecimal hash as a number, its last sixteen decimal digits, in groups of four: 53 bits. Enough
 * to notice a slip or another log; who wants to forge one on purpose meets the whole hash.
 */
export function shortForm(hash: string): string {
  const number = BigInt(`0x${hash.slice(0, 16)}`) % 10n ** BigInt(GROUPS * DIGITS);
  const digits = number.toString().padStart(GROUPS * DIGITS, '0');
  return Array.from({ length: GROUPS }, (_, i) => digits.slice(DIGITS * i, DIGITS * (i + 1))).join(' ');
}
