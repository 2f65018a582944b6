/** The one thing to do now, in the words that every face shows. */
import type { ClaimField, ItemAnswer, Part, StepTarget } from '../ledger/events';
import type { Item } from '../machines/checklist';
import type { Task } from '../procedure/task';
import { liveStepText, turningCheckText } from './turning-words';
import {
  durationText,
  feelText,
  headingText,
  RESULT_WORDS,
  seatText,
  takeUpText,
  targetText,
  turnText,
} from './words';

/** A task in words, in the parts that a face sets apart. */
export interface TaskWords {
  /** The one thing to do. */
  readonly say: string;
  readonly list?: readonly string[];
  /** What is asked of the list. */
  readonly then?: string;
  /** How far it is: "3 of 8, about 2 min to go". */
  readonly aside?: string;
}

/** One line, or several where there is a list. */
export function taskText(task: Task): string[] {
  const words = taskWords(task);
  if (words === undefined) return [];
  const { say, list = [], then, aside } = words;
  const isCautions = task.do === 'confirm cautions';
  return [
    ...(isCautions ? [''] : []),
    aside === undefined ? say : `${say}   [${aside}]`,
    ...list.map((line) => `${isCautions ? '  * ' : '  '}${line}`),
    ...(then === undefined ? [] : [then]),
  ];
}

/** Undefined where there is nothing to say. */
export function taskWords(task: Task): TaskWords | undefined {
  switch (task.do) {
    case 'confirm cautions':
      return { say: 'Before anything else:', list: task.cautions };
    case 'state claim':
      return { say: `For the claim: ${CLAIM_WORDS[task.field]}` };
    case 'carry over':
      return {
        say: `As on ${task.fromSerial === '' ? 'the machine before' : `serial number ${task.fromSerial}`}:`,
        list: task.items.map(({ item, answer }) => `${item.text}: ${answerText(answer, item)}`),
        then: 'Look at this machine: does every line hold here too?',
      };
    case 'prepare':
      return { say: `Prepare: ${itemText(task.item)}` };
    case 'expired floor':
      return {
        say: `${task.bay}: its ${task.expired.what} expired on ${task.expired.on}. Best survey the bay again; or choose for this job:`,
      };
    case 'shim wheels':
      return {
        say: `The floor under the four wheels is twisted by ${task.twist.twistMm.toFixed(1)} mm, shop limit ${task.twist.limitMm} mm. Roll the machine onto one shim, to a tenth:`,
      };
    case 'join fixture':
      return { say: 'Join the fixture' };
    case 'seat deck':
      return { say: `${seatText(task.family)}: ${task.why}` };
    case 'feel hanger':
      return { say: feelText(task.hanger, task.kind) };
    case 'take up':
      return { say: takeUpText(task.hanger, task.kind) };
    case 'read':
      return readWords(task);
    case 'read by ruler':
      return {
        say: `Ruler, floor to cutting edge: ${targetText(task.target)}`,
        aside: `${task.done + 1} of ${task.of}, U ${task.expandedMm} mm`,
      };
    case 'check reading':
      return { say: checkText(task) };
    case 'turn':
      return turnWords(task);
    case 'check turning':
      return { say: turningCheckText(task.findings) };
    case 'refit blade':
      return {
        say: `Take the ${task.spindle} blade off, wipe its hub face, put it back half a turn round, right way up: this tells blade from shaft`,
      };
    case 'swap blade':
      return {
        say: `Put a blade that is known to be good on the ${task.spindle} spindle: what stays bent then is the shaft or its hub face`,
      };
    case 'push and pull':
      return {
        say: `Gloves on: push the tip of the ${task.spindle} blade up and pull it down by hand, a few times: the height moves by the play of the bearing`,
      };
    case 'decide part':
      return {
        say: `${task.spindle} ${PART_WORDS[task.part]}, ${Math.abs(task.sizeMm).toFixed(1)} mm: replace it now? A bent blade is never straightened`,
      };
    case 'offer levelling':
      return {
        say: `It is ${RESULT_WORDS[task.decision]}, and turning would bring it inside: level it now?`,
      };
    case 'tighten':
      return { say: 'Tighten every lock nut as the manual says' };
    case 'close':
      return {
        say: `Deliver: ${RESULT_WORDS[task.decision]}${task.caps.length === 0 ? '' : ` (${task.caps.join('; ')})`}`,
        ...(task.advice === undefined ? {} : { list: [`To settle it: ${task.advice}`] }),
      };
    case 'assess':
      return task.why === undefined ? undefined : { say: `Readings end here: ${task.why}` };
    case 'nothing':
      return undefined;
  }
}

export const CLAIM_WORDS: Record<ClaimField, string> = {
  complaint: 'what the owner complains of',
  'hour meter': 'hours on the meter',
  'delivered on': 'day of delivery to the owner',
  cause: 'the cause, as far as the readings support one',
  correction: 'what was done',
  parts: 'parts used, with their numbers',
};

export const PART_WORDS: Record<Part, string> = {
  blade: 'blade is bent',
  'shaft or hub': 'shaft is bent or its hub face dirty',
  spindle: 'spindle stands high, low or tilted',
};

/** "Pressure of the front left tyre, cold (93 to 107 kPa)" */
export function itemText(item: Item): string {
  const { number, choice, text } = item;
  if (number !== undefined) return `${text} (${number.lower} to ${number.upper} ${number.unit})`;
  return choice === undefined ? text : `${text} (${choice.of.join(', ')})`;
}

export function answerText(answer: ItemAnswer | undefined, item: Pick<Item, 'number'>): string {
  if (answer === undefined) return 'open';
  if (typeof answer === 'number') return `${answer} ${item.number?.unit ?? ''}`.trim();
  if (typeof answer === 'string') return answer;
  return 'chosen' in answer ? answer.chosen : answer.noted;
}

function readWords(task: Extract<Task, { do: 'read' }>): TaskWords {
  const { target, head, remainingS, done, of } = task;
  const pinned = head === undefined ? '' : `, head pinned ${head}`;
  const plate = task.onPlate === true ? ', target plate under the laser spot' : '';
  const left = remainingS === undefined ? '' : `, about ${durationText(remainingS)} to go`;
  return {
    say: `${howText(target, task.reclamp)} ${targetText(target)}${pinned}${plate}`,
    aside: `${done + 1} of ${of}${left}`,
  };
}

function howText(target: StepTarget, reclamp: boolean): string {
  if (target.kind === 'master') return 'Put the fixture on the';
  if (target.kind === 'watch' && target.when === 'end')
    return 'Press the deck down, release it, and read again:';
  return reclamp ? 'Clamp the fixture on:' : 'Turn the blade:';
}

function checkText({ reading, offByMm, against }: Extract<Task, { do: 'check reading' }>): string {
  const than = against === 'the edge' ? 'the edge is' : 'the others say';
  const off = `${Math.abs(offByMm).toFixed(1)} mm ${offByMm > 0 ? 'higher' : 'lower'} than ${than}`;
  const look = against === 'the edge' ? 'Right edge, seated flat?' : 'Right blade, right end, clamp flat?';
  const which = reading.by === 'ruler' ? `ruler reading ${reading.number}` : `capture ${reading.number}`;
  return `Check that reading: ${targetText(reading.target)}, ${which}, is ${off}. ${look}`;
}

function turnWords(task: Extract<Task, { do: 'turn' }>): TaskWords {
  const { adjuster, turns, raiseMm, left, live, trial } = task;
  if (live === undefined) {
    const what = trial === true ? 'Trial turn, to learn what one turn does: turn' : 'Turn';
    return { say: `${what} ${turnText(adjuster, turns, raiseMm)}`, aside: `${left} to go` };
  }
  const { step, startMm = NaN, spindle } = live;
  const tip =
    step.what === 'watch'
      ? `${spindle ?? ''} blade, pointing ${headingText(step.tip.headingDeg)}`
      : undefined;
  return { say: `Turn ${liveStepText(adjuster, step, startMm, tip)}`, aside: `${left} to go` };
}
