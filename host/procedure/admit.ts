/** Whether an event may happen now. Captures are always admitted: a reading that was taken is never refused. */
import { numberedError, type NumberedError } from '../errors/errors';
import type { JobEvent } from '../ledger/events';
import { nextTask, type Task } from './task';
import type { JobState } from './state';

/** For each event the tasks that it answers; events that may happen at any time are not listed. */
const ANSWERS: Partial<Record<JobEvent['type'], readonly Task['do'][]>> = {
  'cautions confirmed': ['confirm cautions'],
  'expired floor': ['expired floor'],
  'wheels shimmed': ['shim wheels'],
  prepared: ['prepare'],
  'deck seated': ['seat deck'],
  'hanger felt': ['feel hanger'],
  'taken up': ['take up'],
  'step asked': ['read'],
  assessed: ['assess'],
  turned: ['turn'],
  'turning checked': ['check turning'],
  'blade refitted': ['refit blade'],
  tightened: ['tighten'],
  'job closed': ['close'],
};

/** Undefined when the event may be appended, otherwise the error to show. */
export function refusal(state: JobState | undefined, event: JobEvent): NumberedError | undefined {
  if (event.type === 'job opened') {
    return state === undefined ? undefined : numberedError('step out of order', 'the job is open already');
  }
  if (state === undefined) return numberedError('no such job', `job ${event.job}`);
  if (event.type === 'captured' || event.type === 'fixture joined' || event.type === 'fixture lost')
    return undefined;
  if (event.type === 'set aside' || event.type === 'upheld') {
    const known = state.readings.some(
      (r) => r.fixtureId === event.fixtureId && r.capture.capture === event.capture,
    );
    return known
      ? undefined
      : numberedError('step out of order', `capture ${event.capture} is not one of this job`);
  }
  if (event.type === 'bay chosen' || event.type === 'plates laid') {
    const what = event.type === 'bay chosen' ? 'the bay is chosen' : 'target plates are laid';
    return state.readings.length === 0 && state.closed === undefined
      ? undefined
      : numberedError('step out of order', `${what} before the first reading`);
  }
  const task = nextTask(state);
  if (ANSWERS[event.type]?.includes(task.do) === true) return mismatch(task, event);
  if (event.type === 'job closed' && task.do === 'read')
    return numberedError('fixture still on blade', `job ${state.job}`);
  if (!state.cautionsConfirmed) return numberedError('cautions not confirmed', `job ${state.job}`);
  return numberedError('step out of order', `${event.type} while the job asks to ${task.do}`);
}

function mismatch(task: Task, event: JobEvent): NumberedError | undefined {
  const wrong =
    (task.do === 'prepare' && event.type === 'prepared' && event.item !== task.item.id) ||
    (task.do === 'close' && event.type === 'job closed' && event.decision !== task.decision) ||
    (task.do === 'feel hanger' && event.type === 'hanger felt' && event.hanger !== task.hanger) ||
    (task.do === 'refit blade' && event.type === 'blade refitted' && event.spindle !== task.spindle) ||
    (task.do === 'seat deck' && event.type === 'deck seated' && event.seating !== task.seating);
  return wrong
    ? numberedError('step out of order', `${event.type} does not answer what the job asks`)
    : undefined;
}
