/** Whether an event may happen now. Captures are always admitted: a reading that was taken is never refused. */
import { numberedError, type NumberedError } from '../errors/errors';
import type { JobEvent } from '../ledger/events';
import { faultAtAnyTime } from './at-any-time';
import type { JobState } from './state';
import { nextTask, type Task } from './task';

/** For each event the tasks that it answers. */
const ANSWERS: Partial<Record<JobEvent['type'], readonly Task['do'][]>> = {
  'cautions confirmed': ['confirm cautions'],
  'claim stated': ['state claim'],
  'carried over': ['carry over'],
  'expired floor': ['expired floor'],
  'wheels shimmed': ['shim wheels'],
  prepared: ['prepare'],
  'deck seated': ['seat deck'],
  'hanger felt': ['feel hanger'],
  'taken up': ['take up'],
  'step asked': ['read', 'read by ruler'],
  'clamped anew': ['read'],
  'ruler read': ['read by ruler'],
  assessed: ['assess'],
  turned: ['turn'],
  'live turning': ['turn'],
  'turning checked': ['check turning'],
  'blade refitted': ['refit blade'],
  'blade swapped': ['swap blade'],
  'pushed and pulled': ['push and pull'],
  'part decided': ['decide part'],
  'levelling offered': ['offer levelling'],
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
  if (state.closed !== undefined) {
    return event.type === 'job reopened'
      ? undefined
      : numberedError('step out of order', `${event.type} in a job that is closed`);
  }
  const task = nextTask(state);
  if (ANSWERS[event.type]?.includes(task.do) === true && isAnswer(state, task, event)) return undefined;
  const atAnyTime = faultAtAnyTime(state, event);
  if (atAnyTime !== 'not one') return atAnyTime;
  if (event.type === 'job closed' && task.do === 'read')
    return numberedError('fixture still on blade', `job ${state.job}`);
  if (!state.cautionsConfirmed) return numberedError('cautions not confirmed', `job ${state.job}`);
  return numberedError('step out of order', `${event.type} while the job asks to ${task.do}`);
}

/** An answer to this very question, not to another of its kind. */
function isAnswer(state: JobState, task: Task, event: JobEvent): boolean {
  switch (event.type) {
    case 'prepared':
      return task.do === 'prepare' && event.item === task.item.id;
    case 'claim stated':
      return task.do === 'state claim' && event.field === task.field;
    case 'job closed':
      return task.do === 'close' && event.decision === task.decision;
    case 'hanger felt':
      return task.do === 'feel hanger' && event.hanger === task.hanger;
    case 'taken up':
      return task.do === 'take up' && event.hanger === task.hanger;
    case 'blade refitted':
    case 'blade swapped':
    case 'pushed and pulled':
    case 'part decided':
      return 'spindle' in task && event.spindle === task.spindle;
    case 'step asked':
      return event.step === state.lastStep + 1;
    case 'clamped anew':
      return task.do === 'read' && task.target.kind === 'tip' && event.step === state.lastStep;
    case 'ruler read':
      return event.step === state.lastStep && Number.isFinite(event.heightMm);
    case 'deck seated':
      return task.do === 'seat deck' && event.seating === task.seating;
    case 'turned':
      return task.do === 'turn' && event.adjuster === task.adjuster.name;
    default:
      return true;
  }
}
