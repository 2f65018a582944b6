/**
 * What may be written down at any time while a job is open: mistakes put right by another event, which stands on the
 * record beside the first, and what happens to the people and instruments around the job.
 */
import { numberedError, type NumberedError } from '../errors/errors';
import type { JobEvent } from '../ledger/events';
import { fixturesInHand } from './fixtures';
import { itemsOf } from './preparation';
import { currentSetting, type JobState } from './state';

/** Undefined when the event is one of these and may happen, the error when it may not; else `not one`. */
export function faultAtAnyTime(state: JobState, event: JobEvent): NumberedError | undefined | 'not one' {
  switch (event.type) {
    case 'given up':
    case 'handed over':
      return undefined;
    case 'claim stated':
      return when(state.claim[event.field] !== undefined, `nothing was stated of ${event.field}`);
    case 'prepared':
      return when(
        state.prepared[event.item] !== undefined && itemsOf(state).some((i) => i.id === event.item),
        `item ${event.item} has no answer yet`,
      );
    case 'set aside':
    case 'upheld':
      return when(readingOf(state, event) !== undefined, notHere(event));
    case 'restored':
      return when(readingOf(state, event)?.setAside !== undefined, `${notHere(event)} that was set aside`);
    case 'tip corrected':
      return when(
        readingOf(state, event)?.target.kind === 'tip' &&
          state.profile.spindles.some((s) => s.name === event.spindle),
        `${notHere(event)} on a tip, or no spindle is called ${event.spindle}`,
      );
    case 'hanger felt':
      return when(
        currentSetting(state)?.felt[event.hanger] !== undefined && currentSetting(state)?.turned.length === 0,
        `the ${event.hanger} hanger was not felt in this setting, or it has been turned since`,
      );
    case 'turn corrected':
      return when(
        state.settings.some((s) => s.turned.some((t) => t.adjuster === event.adjuster)),
        `the ${event.adjuster} adjuster was not turned`,
      );
    case 'live turning':
      return when(!event.on, 'a round is turned by the live height from its beginning');
    case 'ruler taken up':
      return when(event.expandedMm > 0 && state.ruler === undefined, 'the ruler is in use already');
    case 'fixture accounted for':
      return when(
        fixturesInHand(state).includes(event.fixtureId) && event.by !== '' && event.reason !== '',
        `no fixture ${event.fixtureId} is in use, or it is not said by whom and why`,
      );
    case 'bay chosen':
    case 'plates laid':
    case 'instruments known':
      return state.readings.length === 0
        ? undefined
        : numberedError('step out of order', `${event.type} after the first reading`);
    default:
      return 'not one';
  }
}

function when(allowed: boolean, fault: string): NumberedError | undefined {
  return allowed ? undefined : numberedError('nothing to correct', fault);
}

function readingOf(state: JobState, { fixtureId, capture }: { fixtureId: string; capture: number }) {
  return state.readings.find((r) => r.fixtureId === fixtureId && r.number === capture);
}

function notHere({ fixtureId, capture }: { fixtureId: string; capture: number }): string {
  return `capture ${capture} of fixture ${fixtureId} is none of this job`;
}
