/** A round of turning: which adjuster next, by counted turns or by the live height of a tip. */
import {
  liveState,
  liveSteps,
  whatToTurn,
  type LiveAnswer,
  type LiveStep,
  type WatchedTip,
} from '../../protocol/solver';
import { assess, measureQuestions, type Assessment } from './assess';
import { fixturesInHand } from './fixtures';
import { trialTurns } from './gains';
import type { JobState, Setting } from './state';
import type { Task } from './task';
import { watchReading, watchedHeightMm } from './watch';

/** Turning and reading again is worth it at most this often; then the job ends as it is and says why. */
const MOST_ROUNDS = 3;
/** Gain in the probability of being within all limits that a round of turning has to promise. */
const WORTH_A_ROUND = 0.05;

/** Whether another round promises enough. What is as good as the readings can tell would only follow their noise. */
export function turningHelps(state: JobState, assessment: Assessment): boolean {
  const rounds = state.settings.filter((s) => s.turned.length > 0).length;
  if (rounds >= MOST_ROUNDS) return false;
  const { result, turning, hanging } = assessment;
  return (
    (turning()?.jointProbability ?? 0) > result.jointProbability + WORTH_A_ROUND ||
    trialTurns(state, hanging()) !== undefined
  );
}

/** The next thing to do of a round of turning; undefined when the round is done. */
export function nextTurn(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  const trial = trialTurns(state, assessment.hanging());
  const steps = trial === undefined && isLive(state, setting) ? stepsOfRound(state, setting) : undefined;
  return steps === undefined
    ? countedTurn(state, setting, assessment, trial)
    : liveTurn(state, setting, assessment, steps);
}

/** What a live height says of the turn in hand, and which share of its way the tip has moved; undefined when none is watched. */
export function liveAnswer(
  task: Task,
  liveMm: number,
): (LiveAnswer & { readonly share: number }) | undefined {
  if (task.do !== 'turn' || task.live?.step.what !== 'watch' || task.live.startMm === undefined)
    return undefined;
  const { step, startMm } = task.live;
  return { ...liveState(step, startMm, liveMm), share: (liveMm - startMm) / step.changeMm };
}

function countedTurn(
  state: JobState,
  setting: Setting,
  assessment: Assessment,
  trial: readonly number[] | undefined,
): Task | undefined {
  const turning = assessment.turning();
  const worthIt = state.profile.adjusters
    .map((adjuster, i) =>
      trial === undefined
        ? { adjuster, turns: turning?.turns[i] ?? 0, raiseMm: turning?.raiseMm[i] ?? 0 }
        : { adjuster, turns: trial[i] ?? 0, raiseMm: NaN, trial: true as const },
    )
    .filter(({ adjuster, turns }) => Math.abs(turns) >= adjuster.stepTurns / 2)
    .filter(({ adjuster }) => !setting.turned.some((t) => t.adjuster === adjuster.name));
  const next = worthIt[0];
  if (next === undefined) return undefined;
  const begins = setting.turned.length === 0 && trial === undefined;
  const canBeLive = begins && fixturesInHand(state).length > 0 && stepsOfRound(state, setting) !== undefined;
  return { do: 'turn', ...next, left: worthIt.length, ...(canBeLive ? { canBeLive: true } : {}) };
}

/** A round is live as a whole or not at all. */
function isLive(state: JobState, setting: Setting): boolean {
  if (fixturesInHand(state).length === 0) return false;
  return setting.turned.length === 0 ? state.liveTurning : setting.turned.every((t) => t.live === true);
}

/** Steps of a live round, from what was read before it. Undefined when the deck would tip. */
function stepsOfRound(state: JobState, setting: Setting): LiveStep[] | undefined {
  const { solution, hanging, readings } = assess(state, setting);
  const { profile } = state;
  const carrying = profile.hangers.map(
    (h) => setting.felt[h.name] !== 'slack' || setting.takenUp.includes(h.name),
  );
  const wanted = whatToTurn(solution, hanging(), measureQuestions(profile), carrying);
  if (wanted === undefined) return undefined;
  const tips = readings.map(({ target }): WatchedTip => ({
    spindle: profile.spindles.findIndex((s) => s.name === target.spindle),
    headingDeg: target.headingDeg,
  }));
  const steps = liveSteps(solution.layout, hanging(), wanted.turns, unique(tips));
  return steps === undefined || steps.length === 0 ? undefined : steps;
}

/** Each watched step is read before it and after it, with the fixture left where it is. */
function liveTurn(
  state: JobState,
  setting: Setting,
  assessment: Assessment,
  steps: readonly LiveStep[],
): Task | undefined {
  const done = setting.turned.length;
  const before = steps[done - 1];
  if (before?.what === 'watch' && watchedHeightMm(state, `turning ${done}`, 'end') === undefined)
    return watchReading(state, tipOf(state, before), `turning ${done}`, 'end');
  const step = steps[done];
  const adjuster = state.profile.adjusters[step?.adjuster ?? -1];
  if (step === undefined || adjuster === undefined) return undefined;
  const moves = assessment.hanging().adjusters[step.adjuster]?.moves ?? [];
  const raiseMm = step.turns * (moves[0]?.mmPerTurn ?? NaN);
  const turn = { do: 'turn', adjuster, turns: step.turns, raiseMm, left: steps.length - done } as const;
  if (step.what !== 'watch') return { ...turn, live: { step } };
  const startMm = watchedHeightMm(state, `turning ${done + 1}`, 'start');
  const tip = tipOf(state, step);
  return startMm === undefined
    ? watchReading(state, tip, `turning ${done + 1}`, 'start')
    : { ...turn, live: { step, startMm, spindle: tip.spindle } };
}

function tipOf({ profile }: JobState, { tip }: Extract<LiveStep, { what: 'watch' }>) {
  const spindle = profile.spindles[tip.spindle]?.name ?? '';
  return { spindle, headingDeg: tip.headingDeg, end: 'A' } as const;
}

function unique(tips: readonly WatchedTip[]): WatchedTip[] {
  return [...new Map(tips.map((tip) => [`${tip.spindle} ${tip.headingDeg}`, tip])).values()];
}
