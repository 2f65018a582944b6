/**
 * The one thing to do now: a pure function of the job's state. Every face shows it, and whoever does the work (a
 * technician at the terminal, the simulated technician of the demo) answers it.
 */
import type { Expired } from '../bay/known-floor';
import type { WheelTwist } from '../bay/wheel-twist';
import { numberedError } from '../errors/errors';
import type { Decision, StepTarget, TurningFinding } from '../ledger/events';
import { headFor, OPENING_LIMIT_MM } from '../gauging/height-master';
import { assess, masterErrorMm, type Assessment, type TipReadingOfJob } from './assess';
import { capsOf, lastHead } from './caps';
import { floorTask } from './floor-task';
import { CAUTIONS } from './cautions';
import { trialTurns } from './gains';
import { readTip, readTips, whyReadingEnds } from './read-tips';
import { adviceOnUndecided, wayToGoOn } from './reading-plan';
import { isTesting, refitsDone, refittedTipsToRead, spindleToRefit } from './refit';
import {
  currentSetting,
  standing,
  type JobState,
  type MasterTarget,
  type Reading,
  type Setting,
  type TipTarget,
} from './state';

export type Task =
  | { readonly do: 'confirm cautions'; readonly cautions: readonly string[] }
  | { readonly do: 'prepare'; readonly item: JobState['profile']['preparation'][number] }
  /** Nothing that was known of the bay's floor counts any more. */
  | { readonly do: 'expired floor'; readonly expired: Expired; readonly bay: string }
  /** The floor under a rigid frame is twisted beyond the limit. */
  | { readonly do: 'shim wheels'; readonly twist: WheelTwist }
  | { readonly do: 'join fixture' }
  | {
      readonly do: 'seat deck';
      readonly seating: number;
      readonly why: string;
      readonly family: JobState['profile']['family'];
    }
  | { readonly do: 'feel hanger'; readonly hanger: string; readonly kind: 'hangs' | 'stands' }
  | {
      readonly do: 'take up';
      readonly hanger: string;
      readonly adjuster: string;
      readonly kind: 'hangs' | 'stands';
    }
  /** `reclamp`: the fixture has to be clamped anew; otherwise only the blade is turned. */
  | {
      readonly do: 'read';
      readonly target: StepTarget;
      readonly reclamp: boolean;
      /** A target plate is to lie under the laser spot. */
      readonly onPlate?: true;
      /** For the height master: the head position to be checked. */
      readonly head?: 'low' | 'high';
      readonly done: number;
      readonly of: number;
      /** Seconds that the readings of this sequence are expected to take from here, this one included. */
      readonly remainingS?: number;
    }
  | {
      readonly do: 'check reading';
      readonly reading: Reading;
      readonly offByMm: number;
      /** What it does not fit: the other tips, or the known height of the master's edge. */
      readonly against: 'the others' | 'the edge';
    }
  /** `why`: what ended the readings; left out by jobs from before there were sequences. */
  | { readonly do: 'assess'; readonly assessment: Assessment; readonly why?: string }
  | {
      readonly do: 'turn';
      readonly adjuster: JobState['profile']['adjusters'][number];
      readonly turns: number;
      readonly raiseMm: number;
      readonly left: number;
      /** One turn to learn what one turn does: the adjuster's ratio is not known. */
      readonly trial?: true;
    }
  /** The turning did not come out as asked: what it looks like, likeliest first; empty when nothing known explains it. */
  | { readonly do: 'check turning'; readonly findings: readonly TurningFinding[] }
  /** Half a turn round on its spindle, to tell a bent blade from a bent shaft. */
  | { readonly do: 'refit blade'; readonly spindle: string }
  | { readonly do: 'tighten' }
  | {
      readonly do: 'close';
      readonly decision: Decision;
      readonly caps: readonly string[];
      /** What would settle a result that is undecided. */
      readonly advice?: string;
    }
  | { readonly do: 'nothing'; readonly decision: Decision };

/** Turning and reading again is worth it at most this often; then the job ends as it is and says why. */
const MOST_ROUNDS = 3;
const MOST_SEATINGS_IN_A_SETTING = 3;
/** Gain in the probability of being within all limits that a round of turning has to promise. */
const WORTH_A_ROUND = 0.05;
/** A reading that misses what the others predict by more than this many standard deviations is questioned. */
const QUESTION_SIGMAS = 4;

export function nextTask(state: JobState): Task {
  if (state.closed !== undefined) return { do: 'nothing', decision: state.closed };
  return (
    beforeMeasuring(state) ??
    seatAndFeel(state) ??
    readRefitted(state) ??
    (isTesting(settingOf(state)) ? undefined : readTips(state, settingOf(state))) ??
    checkReading(state) ??
    actOnResult(state)
  );
}

function beforeMeasuring(state: JobState): Task | undefined {
  if (!state.cautionsConfirmed) return { do: 'confirm cautions', cautions: CAUTIONS };
  const item = state.profile.preparation.find((p) => state.prepared[p.id] === undefined);
  if (item !== undefined) return { do: 'prepare', item };
  const floor = floorTask(state);
  if (floor !== undefined) return floor;
  if (state.fixtures.length === 0) return { do: 'join fixture' };
  // Each pinned position of the head has its own calibration and is checked by itself.
  for (const head of headsUsed(state)) {
    const reading = checkMaster(state) ?? masterReading(state, 'opening', head);
    if (reading !== undefined) return reading;
  }
  return undefined;
}

/** A reading on the height master that is off more than the fixture may be was most likely taken on another edge. */
function checkMaster(state: JobState): Task | undefined {
  const reading = standing(state).find(
    (r) => r.target.kind === 'master' && !r.upheld && Math.abs(masterErrorMm(r)) > OPENING_LIMIT_MM,
  );
  if (reading === undefined) return undefined;
  return { do: 'check reading', reading, offByMm: masterErrorMm(reading), against: 'the edge' };
}

/** Head positions that have read tips; before there is one, that of the newest capture, or the one for this cut height. */
function headsUsed(state: JobState): number[] {
  const heads = standing(state)
    .filter((r) => r.target.kind === 'tip')
    .map((r) => r.capture.headPosition);
  return heads.length > 0
    ? [...new Set(heads)]
    : [state.readings.at(-1)?.capture.headPosition ?? headFor(state.profile.cutHeightMm)];
}

const EDGES = ['low', 'high'] as const;

function masterReading(state: JobState, when: MasterTarget['when'], head: number): Task | undefined {
  const taken = standing(state).filter(
    (r) => r.target.kind === 'master' && r.target.when === when && r.capture.headPosition === head,
  );
  const missing = EDGES.filter(
    (edge) => !taken.some((r) => r.target.kind === 'master' && r.target.edge === edge),
  );
  const edge = missing[0];
  if (edge === undefined) return undefined;
  const done = EDGES.length - missing.length;
  return {
    do: 'read',
    target: { kind: 'master', edge, when },
    reclamp: true,
    head: head === 0 ? 'low' : 'high',
    done,
    of: EDGES.length,
  };
}

function seatAndFeel(state: JobState): Task | undefined {
  const setting = currentSetting(state);
  if (setting === undefined) return seatAgain(state, 'so that it rests where it rests when it mows');
  // What holds both ways always carries: there is nothing to feel.
  for (const { name: hanger, kind = 'hangs' } of state.profile.hangers) {
    if (kind !== 'holds' && setting.felt[hanger] === undefined) return { do: 'feel hanger', hanger, kind };
  }
  for (const { name: hanger, kind = 'hangs' } of state.profile.hangers) {
    if (kind === 'holds' || setting.felt[hanger] !== 'slack' || setting.takenUp.includes(hanger)) continue;
    const own = state.profile.adjusters.find((a) => a.moves.length === 1 && a.moves[0]?.hanger === hanger);
    if (own !== undefined) return { do: 'take up', hanger, adjuster: own.name, kind };
  }
  return undefined;
}

function checkReading(state: JobState): Task | undefined {
  const { readings, solution } = assess(state, settingOf(state));
  let worst: { reading: TipReadingOfJob; offByMm: number } | undefined;
  let most = QUESTION_SIGMAS;
  readings.forEach((reading, i) => {
    const residual = solution.residuals[i];
    if (residual?.determined !== true || reading.upheld) return;
    const sigmas = Math.abs(residual.standardised);
    if (sigmas <= most) return;
    most = sigmas;
    worst = { reading, offByMm: residual.valueMm };
  });
  return worst === undefined ? undefined : { do: 'check reading', ...worst, against: 'the others' };
}

function actOnResult(state: JobState): Task {
  const setting = settingOf(state);
  const assessment = assess(state, setting);
  const after = setting.assessed.at(-1)?.afterStep ?? -1;
  if (assessment.readings.some((r) => r.step > after)) {
    const why = whyReadingEnds(state, setting, assessment);
    return { do: 'assess', assessment, ...(why === undefined ? {} : { why }) };
  }
  return (
    afterTurning(state, setting, assessment) ??
    checkTurning(setting, assessment) ??
    refitBlade(state, assessment) ??
    turnOrRepeat(state, setting, assessment) ??
    closing(state)
  );
}

/** Stop rule: a round that contradicts its own turns is asked about before anything is turned again. */
function checkTurning(setting: Setting, assessment: Assessment): Task | undefined {
  if (setting.turningChecked !== undefined || setting.turned.length > 0) return undefined;
  const findings = assessment.turningFindings();
  return findings === undefined ? undefined : { do: 'check turning', findings };
}

function refitBlade(state: JobState, assessment: Assessment): Task | undefined {
  const spindle = spindleToRefit(state, assessment);
  return spindle === undefined ? undefined : { do: 'refit blade', spindle };
}

function readRefitted(state: JobState): Task | undefined {
  const setting = settingOf(state);
  const missing = refittedTipsToRead(state, setting);
  const tip = missing[0];
  if (tip === undefined) return undefined;
  const of = 2 * refitsDone(setting).length;
  const seating = setting.seatings.at(-1) ?? 0;
  const placement = state.lastPlacement + 1;
  return {
    do: 'read',
    target: { kind: 'tip', ...tip, seating, placement, refitted: true },
    reclamp: true,
    ...(state.plate === undefined ? {} : { onPlate: true }),
    done: of - missing.length,
    of,
  };
}

/** Turning that has begun goes on until every adjuster has had its turn; then the deck is seated again. */
function afterTurning(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  if (setting.tightened) return seatAgain(state, 'because tightening moves things');
  if (setting.turned.length === 0) return undefined;
  return nextTurn(state, setting, assessment) ?? seatAgain(state, 'so that the hangers take their load');
}

function turnOrRepeat(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  const { decision } = assessment.result;
  const readyToTighten = setting.stage === 'after turning';
  if (decision !== 'pass' && (turningHelps(state, assessment) || trialHelps(state, assessment))) {
    const turn = nextTurn(state, setting, assessment);
    if (turn !== undefined) return turn;
  }
  const goOn = decision === 'undecided' ? settleUndecided(state, setting) : undefined;
  if (goOn !== undefined) return goOn;
  return readyToTighten ? { do: 'tighten' } : undefined;
}

/** The reading that would settle the result soonest, or another seating of the deck; both only so often. */
function settleUndecided(state: JobState, setting: Setting): Task | undefined {
  const why = 'because one more seating would settle the result soonest';
  if (state.sequence === undefined)
    return setting.seatings.length < MOST_SEATINGS_IN_A_SETTING ? seatAgain(state, why) : undefined;
  const way = wayToGoOn(state, setting);
  if (way === undefined) return undefined;
  return way.what === 'seat again' ? seatAgain(state, why) : readTip(state, way.tips, way.tips.length);
}

/** Turning what is already as good as the readings can tell would only follow their noise: then read again instead. */
function turningHelps(state: JobState, { result, turning }: Assessment): boolean {
  const rounds = state.settings.filter((s) => s.turned.length > 0).length;
  return rounds < MOST_ROUNDS && (turning()?.jointProbability ?? 0) > result.jointProbability + WORTH_A_ROUND;
}

function trialHelps(state: JobState, assessment: Assessment): boolean {
  const rounds = state.settings.filter((s) => s.turned.length > 0).length;
  return rounds < MOST_ROUNDS && trialTurns(state, assessment.hanging()) !== undefined;
}

/** The next adjuster to be turned in this round. */
function nextTurn(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  const trial = trialTurns(state, assessment.hanging());
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
  return next === undefined ? undefined : { do: 'turn', ...next, left: worthIt.length };
}

function seatAgain(state: JobState, why: string): Task {
  return { do: 'seat deck', seating: state.lastSeating + 1, why, family: state.profile.family };
}

function closing(state: JobState): Task {
  const reading = checkMaster(state) ?? masterReading(state, 'closing', lastHead(state));
  if (reading !== undefined) return reading;
  const caps = capsOf(state);
  const decided = settingOf(state).assessed.at(-1)?.decision ?? 'undecided';
  const decision = caps.length > 0 && decided === 'pass' ? 'undecided' : decided;
  const advice = decided === 'undecided' ? adviceOnUndecided(state, settingOf(state)) : undefined;
  return { do: 'close', decision, caps, ...(advice === undefined ? {} : { advice }) };
}

function settingOf(state: JobState): Setting {
  const setting = currentSetting(state);
  if (setting === undefined) throw numberedError('step out of order', 'the deck has not been seated');
  return setting;
}

/** True while a fixture has read a tip and has not been seen on its height master since. */
export function onBlade(state: JobState): boolean {
  const last = state.readings.at(-1);
  const asked = state.steps[state.lastStep];
  return asked?.kind === 'tip' || last?.target.kind === 'tip';
}

export type { TipTarget };
