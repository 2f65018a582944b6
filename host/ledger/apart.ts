/**
 * Texts that may name a customer stand beside the chain, so that they can be deleted: the chain holds `{"apart": hash}` in
 * their place, SHA-256 over a salt of 32 random bytes (as hexadecimal text) followed by the text. Without the salt, which
 * is deleted with its text, the hash tells nothing of it.
 */
import { randomBytes } from 'node:crypto';
import { sha256 } from './chain';
import type { LogEvent } from './events';

export interface KeptText {
  readonly sha256: string;
  readonly salt: string;
  readonly text: string;
}

/** What is shown for a text that is kept no more. */
export const TEXT_GONE = '(deleted)';

export function saltedHash(salt: string, text: string): string {
  return sha256(salt + text);
}

/** The event as it enters the chain, with the text that has to be kept beside it. */
export function setApart(event: LogEvent): { readonly event: unknown; readonly text?: KeptText } {
  if (!hasTextApart(event)) return { event };
  const salt = randomBytes(32).toString('hex');
  const kept = { sha256: saltedHash(salt, event.text), salt, text: event.text };
  return { event: { ...event, text: { apart: kept.sha256 } }, text: kept };
}

/** The event as it was appended; `textOf` gives a kept text by its hash. */
export function putTogether(stored: unknown, textOf: (sha256: string) => string | undefined): unknown {
  const hash = apartIn(stored);
  return hash === undefined ? stored : { ...(stored as object), text: textOf(hash) ?? TEXT_GONE };
}

/** The hash of the text that stands beside this event, if one does. */
export function apartIn(stored: unknown): string | undefined {
  if (typeof stored !== 'object' || stored === null || !('text' in stored)) return undefined;
  const { text } = stored;
  if (typeof text !== 'object' || text === null || !('apart' in text)) return undefined;
  return typeof text.apart === 'string' ? text.apart : undefined;
}

/** A complaint is told in the customer's words; cause, correction and parts are the shop's own findings. */
function hasTextApart(event: LogEvent): event is Extract<LogEvent, { text: string }> {
  return event.type === 'customer stated' || (event.type === 'claim stated' && event.field === 'complaint');
}
