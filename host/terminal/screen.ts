/** The terminal as a screen: one line for each task, a live height that overwrites itself while a reading settles. */
import type { Body } from '../../protocol/wire/messages';
import type { Screen } from '../conduct/hands';
import type { Task } from '../procedure/task';
import { liveReading, liveView, recentHeights } from '../views/live-view';
import { taskText } from '../views/task-text';
import { STAGE_TITLES } from '../views/words';
import { liveBar } from './live-bar';
import { stageText } from './stage-text';

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
  let inHand: Task | undefined;
  let recent: readonly Body<'live'>[] = [];
  const { line, live } = liveLine(output, (seen) => {
    recent = recentHeights(recent, seen);
    const watched = liveView(inHand, recent);
    return watched === undefined ? liveText(seen) : liveBar(watched);
  });
  return {
    say: line,
    task: (task) => {
      inHand = task;
      for (const text of taskText(task)) line(text);
    },
    live,
    captured: (heightMm, capture) => line(captureText(heightMm, capture)),
    assessed: (view) => {
      for (const text of ['', ...stageText(STAGE_TITLES[view.stage], view), '']) line(text);
    },
    notice: (text) => line(`  ! ${text}`),
  };
}

/** Lines, and a live height that the next line overwrites. */
export function liveLine(
  output: TerminalOutput,
  shown: (live: Body<'live'>) => string = liveText,
): {
  readonly line: (text: string) => void;
  readonly live: (live: Body<'live'>) => void;
} {
  let liveShown = false;
  return {
    line: (text) => {
      output.write(`${liveShown ? '\r\x1b[K' : ''}${text}\n`);
      liveShown = false;
    },
    live: (live) => {
      if (!output.isTerminal) return;
      output.write(`\r\x1b[K    ${shown(live)}`);
      liveShown = true;
    },
  };
}

/** A capture that is safe on the disk. */
export function captureText(heightMm: number, capture: Body<'captured'>): string {
  const waited = (capture.waitedMs / 1000).toFixed(1);
  return `    ${heightMm.toFixed(2)} mm   capture ${capture.capture}, mean of ${capture.samples}, waited ${waited} s`;
}

/** "78.31 mm  settled" or why not. */
export function liveText(live: Body<'live'>): string {
  const { heightMm, standardErrorMm, waiting } = liveReading(live);
  const state = waiting.length === 0 ? 'settled' : `waiting: ${waiting.join(', ')}`;
  const error = standardErrorMm === undefined ? '' : `  ± ${standardErrorMm.toFixed(3)}`;
  return `${heightMm.toFixed(2).padStart(7)} mm${error}  ${state}`;
}
