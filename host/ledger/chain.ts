/** The hash chain: each event's hash covers the one before, so that nothing can be changed, taken out or moved unseen. */
import { createHash } from 'node:crypto';
import { canonicalJson } from './canonical';

/** Stands where the first event of a chain has no predecessor. */
export const CHAIN_START = '0'.repeat(64);

/** What a hash covers besides the hash before it. */
export interface ChainedEvent {
  readonly writer: string;
  readonly sequence: number;
  /** ISO 8601 in UTC. */
  readonly at: string;
  /** The event as canonical JSON. */
  readonly eventJson: string;
}

/**
 * SHA-256, in hexadecimal, over the previous hash as text followed by the canonical JSON of
 * `{at, event, sequence, writer}` (FORMAT.md). The event's text enters as it is stored: its own form is covered too.
 */
export function chainHash(previousHash: string, { writer, sequence, at, eventJson }: ChainedEvent): string {
  const json = `{"at":${canonicalJson(at)},"event":${eventJson},"sequence":${canonicalJson(sequence)},"writer":${canonicalJson(writer)}}`;
  return createHash('sha256')
    .update(previousHash + json)
    .digest('hex');
}
