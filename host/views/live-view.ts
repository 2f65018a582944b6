/** What the live height says: whether it is settled, why not, and how far a nut that is turned by it still has to go. */
import type { LiveAnswer } from '../../protocol/solver';
import { WAITING } from '../../protocol/wire/codes';
import type { Body } from '../../protocol/wire/messages';
import type { Task } from '../procedure/task';
import { liveAnswer } from '../procedure/turn';
import { liveStateText } from './turning-words';

export interface LiveView {
  /** Mean of the last 0.4 s. */
  readonly heightMm: number;
  /** 0 where the tip was, 1 where it is to stop. */
  readonly share: number;
  /** Which way the watched tip is to go: not always the way of the adjuster. */
  readonly goes: 'up' | 'down';
  readonly state: LiveAnswer['state'];
  /** Begins with the state. */
  readonly text: string;
}

/** A hand on a wrench shakes the tip by tenths of a millimetre, several times a second; this much of it is averaged out. */
const MEAN_OVER_MS = 400;

/** The heights of the last 0.4 s by the fixture's clock, with one that has just come. */
export function recentHeights(before: readonly Body<'live'>[], live: Body<'live'>): Body<'live'>[] {
  const isRecent = ({ uptimeMs }: Body<'live'>) =>
    uptimeMs > live.uptimeMs - MEAN_OVER_MS && uptimeMs < live.uptimeMs;
  return [...before.filter(isRecent), live];
}

/**
 * What a turn shows, of the mean of the recent heights, or the word would change faster than it can be read. Where the tip
 * moves by 0.5 mm a second that is 0.1 mm behind. Undefined while nothing is turned by the live height.
 */
export function liveView(task: Task | undefined, recent: readonly Body<'live'>[]): LiveView | undefined {
  if (task === undefined) return undefined;
  const heightMm = recent.reduce((sum, { height }) => sum + height / 1000, 0) / recent.length;
  const answer = liveAnswer(task, heightMm);
  if (answer === undefined) return undefined;
  const { share, state, leftMm } = answer;
  const goes = (share < 1 ? leftMm : -leftMm) >= 0 ? 'up' : 'down';
  return { heightMm, share, goes, state, text: liveStateText(answer) };
}

/** What a fixture shows at a moment. */
export interface LiveReading {
  readonly heightMm: number;
  /** Left out while too little is gathered to tell. */
  readonly standardErrorMm?: number;
  /** Why it is not settled; empty when it is. That there is too little gathered goes without saying while it is disturbed. */
  readonly waiting: readonly string[];
}

export function liveReading({ height, standardErrorUm, waiting }: Body<'live'>): LiveReading {
  const reasons = WAITING.filter((w) => Math.floor(waiting / 2 ** w.value) % 2 === 1).map((w) => w.name);
  const disturbing = reasons.filter((name) => name !== 'gathering');
  return {
    heightMm: height / 1000,
    ...(standardErrorUm < NOT_KNOWN ? { standardErrorMm: standardErrorUm / 1000 } : {}),
    waiting: disturbing.length > 0 ? disturbing : reasons,
  };
}

/** What a fixture sends as standard error while it has gathered too little to tell. */
const NOT_KNOWN = 65535;
