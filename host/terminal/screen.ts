/** The terminal as a screen: one line for each task, a live height that overwrites itself while a reading settles. */
import type { Body } from '../../protocol/wire/messages';
import { WAITING } from '../../protocol/wire/codes';
import type { Screen } from '../conduct/hands';
import type { Task } from '../procedure/task';
import { STAGE_TITLES, stageText } from './stage-text';
import { durationText, feelText, seatText, takeUpText, targetText, turnText } from '../views/words';
import { turningCheckText } from '../views/turning-words';

export interface TerminalOutput {
  write(text: string): void;
  /** True when lines may be overwritten. */
  readonly isTerminal: boolean;
}

/** A screen that others can say a line on, too, without running into the live height. */
export interface TerminalScreen extends Screen {
  say(text: string): void;
}

export function terminalScreen(output: TerminalOutput): TerminalScreen {
  let liveShown = false;
  const line = (text: string) => {
    output.write(`${liveShown ? '\r\x1b[K' : ''}${text}\n`);
    liveShown = false;
  };
  return {
    say: line,
    task: (task) => {
      for (const text of taskText(task)) line(text);
    },
    live: (live) => {
      if (!output.isTerminal) return;
      output.write(`\r\x1b[K    ${liveText(live)}`);
      liveShown = true;
    },
    captured: (heightMm, capture) => {
      const waited = (capture.waitedMs / 1000).toFixed(1);
      line(
        `    ${heightMm.toFixed(2)} mm   capture ${capture.capture}, mean of ${capture.samples}, waited ${waited} s`,
      );
    },
    assessed: (view) => {
      for (const text of ['', ...stageText(STAGE_TITLES[view.stage], view), '']) line(text);
    },
    notice: (text) => line(`  ! ${text}`),
  };
}

/** "78.31 mm  settled" or why not. */
export function liveText(live: Body<'live'>): string {
  const reasons = WAITING.filter((w) => Math.floor(live.waiting / 2 ** w.value) % 2 === 1).map((w) => w.name);
  const state = reasons.length === 0 ? 'settled' : `waiting: ${reasons.join(', ')}`;
  const known = live.standardErrorUm < NOT_KNOWN;
  const error = known ? `  ± ${(live.standardErrorUm / 1000).toFixed(3)}` : '';
  return `${(live.height / 1000).toFixed(2).padStart(7)} mm${error}  ${state}`;
}

/** What a fixture sends as standard error while it has gathered too little to tell. */
const NOT_KNOWN = 65535;

/** What the technician is to do now. */
export function taskText(task: Task): string[] {
  switch (task.do) {
    case 'confirm cautions':
      return ['', 'Before anything else:', ...task.cautions.map((c) => `  * ${c}`)];
    case 'prepare': {
      const range = task.item.number;
      const limits = range === undefined ? '' : ` (${range.lower} to ${range.upper} ${range.unit})`;
      return [`Prepare: ${task.item.text}${limits}`];
    }
    case 'expired floor':
      return [
        `${task.bay}: its ${task.expired.what} expired on ${task.expired.on}. Best survey the bay again; or choose for this job:`,
      ];
    case 'shim wheels':
      return [
        `The floor under the four wheels is twisted by ${task.twist.twistMm.toFixed(1)} mm, shop limit ${task.twist.limitMm} mm. Roll the machine onto one shim, to a tenth:`,
      ];
    case 'join fixture':
      return ['Join the fixture'];
    case 'seat deck':
      return [`${seatText(task.family)}: ${task.why}`];
    case 'feel hanger':
      return [feelText(task.hanger, task.kind)];
    case 'take up':
      return [takeUpText(task.hanger, task.kind)];
    case 'read': {
      const how =
        task.target.kind === 'master'
          ? 'Put the fixture on the'
          : task.reclamp
            ? 'Clamp the fixture on:'
            : 'Turn the blade:';
      const plate = task.onPlate === true ? ', target plate under the laser spot' : '';
      const head = task.head === undefined ? '' : `, head pinned ${task.head}`;
      const left = task.remainingS === undefined ? '' : `, about ${durationText(task.remainingS)} to go`;
      return [`${how} ${targetText(task.target)}${head}${plate}   [${task.done + 1} of ${task.of}${left}]`];
    }
    case 'check reading': {
      const { reading, offByMm, against } = task;
      const off = `${Math.abs(offByMm).toFixed(1)} mm ${offByMm > 0 ? 'higher' : 'lower'} than ${against === 'the edge' ? 'the edge is' : 'the others say'}`;
      const look =
        against === 'the edge' ? 'Right edge, seated flat?' : 'Right blade, right end, clamp flat?';
      return [
        `Check that reading: ${targetText(reading.target)}, capture ${reading.capture.capture}, is ${off}. ${look}`,
      ];
    }
    case 'turn':
      return [
        `${task.trial === true ? 'Trial turn, to learn what one turn does: turn' : 'Turn'} ${turnText(task.adjuster, task.turns, task.raiseMm)}   [${task.left} to go]`,
      ];
    case 'check turning':
      return [turningCheckText(task.findings)];
    case 'refit blade':
      return [
        `Take the ${task.spindle} blade off, wipe its hub face, put it back half a turn round, right way up: this tells blade from shaft`,
      ];
    case 'tighten':
      return ['Tighten every lock nut as the manual says'];
    case 'close':
      return [
        `Deliver: ${task.decision}${task.caps.length === 0 ? '' : ` (${task.caps.join('; ')})`}`,
        ...(task.advice === undefined ? [] : [`  To settle it: ${task.advice}`]),
      ];
    case 'assess':
      return task.why === undefined ? [] : [`Readings end here: ${task.why}`];
    case 'nothing':
      return [];
  }
}
