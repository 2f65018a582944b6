/**
 * The whole way from a job's events to a result, as one program that stands on its own: it is built into one file, kept by
 * its hash with every record that it decided, and run again when the record is verified.
 */
import type { JobEvent } from '../ledger/events';
import { assessedEvent } from './answer';
import { replay } from './state';
import { nextTask } from './task';

/**
 * From a JSON list of a job's events to the JSON of the result that comes next, an event `assessed`; `null` when no result
 * comes next. Texts in and out, so that nothing but text passes between this program and who runs it.
 */
export function rejudge(eventsJson: string): string {
  const state = replay(JSON.parse(eventsJson) as JobEvent[]);
  if (state === undefined) return 'null';
  const task = nextTask(state);
  return JSON.stringify(task.do === 'assess' ? assessedEvent(task, state) : null);
}
