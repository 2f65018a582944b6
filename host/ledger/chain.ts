/** The hash chain: each event's hash covers the one before, so that nothing can be changed, taken out or moved unseen. */
import { createHash } from 'node:crypto';

/** Stands where an event has none before it: the first of a chain, and the first of a job. */
export const CHAIN_START = '0'.repeat(64);
/** Stands in the place of the job's event before where an event belongs to no job. */
export const NO_JOB = '-';

/** What a hash covers. */
export interface ChainedEvent {
  readonly writer: string;
  readonly sequence: number;
  /** ISO 8601 in UTC. */
  readonly at: string;
  /** Hash of the writer's event before, `CHAIN_START` for the first. */
  readonly previous: string;
  /** Hash of the same job's event before, `CHAIN_START` for its first, `NO_JOB` where it belongs to none. */
  readonly jobPrevious: string;
  /** The event as canonical JSON, as it is stored. */
  readonly eventJson: string;
}

/** An event as it stands in the file, with what vouches for it. */
export interface RawEvent extends ChainedEvent {
  /** 64 hexadecimal digits. */
  readonly hash: string;
  /** Ed25519 over the 64 characters of `hash`: 128 hexadecimal digits. */
  readonly signature: string;
}

/** SHA-256, in hexadecimal, over six lines (FORMAT.md). */
export function chainHash({ writer, sequence, at, previous, jobPrevious, eventJson }: ChainedEvent): string {
  return sha256([writer, sequence, at, previous, jobPrevious, eventJson, ''].join('\n'));
}

export function sha256(content: string | Uint8Array): string {
  return createHash('sha256').update(content).digest('hex');
}
