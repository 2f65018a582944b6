import { hostname } from 'node:os';

/** The name under which this computer writes its log. */
export function writerName(): string {
  return hostname();
}
