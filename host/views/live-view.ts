/** What the live height says while an adjuster is turned by it. */
import type { Task } from '../procedure/task';
import { liveAnswer } from '../procedure/turn';
import { liveStateText } from './turning-words';

export interface LiveView {
  readonly heightMm: number;
  /** 0 where the tip was, 1 where it is to stop. */
  readonly share: number;
  readonly text: string;
}

/** Undefined while nothing is turned by the live height. */
export function liveView(task: Task, heightMm: number): LiveView | undefined {
  const answer = liveAnswer(task, heightMm);
  return answer === undefined ? undefined : { heightMm, share: answer.share, text: liveStateText(answer) };
}
