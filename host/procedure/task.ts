/**
 * The one thing to do now: a pure function of the job's state. Every face shows it, and whoever does the work (a
 * technician at the terminal, the simulated technician of the demo) answers it. The four uses are paths through it
 * (path.ts).
 */
import type { LiveStep } from '../../protocol/solver';
import type { Expired } from '../bay/known-floor';
import type { WheelTwist } from '../bay/wheel-twist';
import { numberedError } from '../errors/errors';
import type { ClaimField, Decision, ItemAnswer, Part, StepTarget, TurningFinding } from '../ledger/events';
import type { Item } from '../machines/checklist';
import { assess, type Assessment, type TipReadingOfJob } from './assess';
import { capsOf } from './caps';
import { closingReading, fixturesInHand, openingReading } from './fixtures';
import { floorTask } from './floor-task';
import { lookAtParts } from './parts';
import { pathOf } from './path';
import { beforeDelivery, prepare } from './preparation';
import { readTip, readTips, whyReadingEnds } from './read-tips';
import { adviceOnUndecided, isFull, wayToGoOn } from './reading-plan';
import { isTesting, refitsDone, refittedTipsToRead } from './refit';
import { currentSetting, isRepaired, type JobState, type Reading, type Setting } from './state';
import { nextTurn, turningHelps } from './turn';

export type Task =
  | { readonly do: 'confirm cautions'; readonly cautions: readonly string[] }
  | { readonly do: 'state claim'; readonly field: ClaimField }
  | {
      readonly do: 'carry over';
      readonly fromSerial: string;
      readonly items: readonly { readonly item: Item; readonly answer: ItemAnswer }[];
    }
  | { readonly do: 'prepare'; readonly item: Item }
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
      /** Left out where a job has none yet. */
      readonly fixtureId?: string;
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
  /** A height from the floor to the cutting edge, read with a ruler and typed in. */
  | {
      readonly do: 'read by ruler';
      readonly target: StepTarget;
      readonly expandedMm: number;
      readonly done: number;
      readonly of: number;
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
      /** The round has not begun: it may be turned by the live height instead of by counting. */
      readonly canBeLive?: true;
      /** A step of a live round; `startMm`: the height of the watched tip before it, `spindle`: whose tip that is. */
      readonly live?: { readonly step: LiveStep; readonly startMm?: number; readonly spindle?: string };
    }
  /** The turning did not come out as asked: what it looks like, likeliest first; empty when nothing known explains it. */
  | { readonly do: 'check turning'; readonly findings: readonly TurningFinding[] }
  /** Half a turn round on its spindle, to tell a bent blade from a bent shaft. */
  | { readonly do: 'refit blade'; readonly spindle: string }
  /** A blade known to be good in its place, for the same. */
  | { readonly do: 'swap blade'; readonly spindle: string }
  /** The tip up and down by hand while its height is watched: the play of the bearing. */
  | { readonly do: 'push and pull'; readonly spindle: string; readonly startMm: number }
  /** What becomes of a part at fault. */
  | { readonly do: 'decide part'; readonly spindle: string; readonly part: Part; readonly sizeMm: number }
  /** A machine that was not to be levelled is out of its limits, and turning would mend it. */
  | { readonly do: 'offer levelling'; readonly decision: Decision }
  | { readonly do: 'tighten' }
  | {
      readonly do: 'close';
      readonly decision: Decision;
      readonly caps: readonly string[];
      /** What would settle a result that is undecided. */
      readonly advice?: string;
    }
  | { readonly do: 'nothing'; readonly decision: Decision };

const MOST_SEATINGS_IN_A_SETTING = 3;
/** A reading that misses what the others predict by more than this many standard deviations is questioned. */
const QUESTION_SIGMAS = 4;

export function nextTask(state: JobState): Task {
  if (state.closed !== undefined) return { do: 'nothing', decision: state.closed };
  if (state.givenUp !== undefined) return closing(state);
  return prepare(state) ?? floorTask(state) ?? join(state) ?? measure(state);
}

/** A fixture, and what it reads on its height master; a ruler needs neither. */
function join(state: JobState): Task | undefined {
  if (state.ruler !== undefined) return undefined;
  return fixturesInHand(state).length === 0 ? { do: 'join fixture' } : openingReading(state);
}

function measure(state: JobState): Task {
  const setting = currentSetting(state);
  if (setting === undefined) return seatAgain(state, 'so that it rests where it rests when it mows');
  if (state.toReadAgain) return seatAgain(state, 'because the job was opened again');
  return (
    (isRepaired(setting) ? seatAgain(state, 'because a part is another one now') : undefined) ??
    feel(state, setting) ??
    readRefitted(state, setting) ??
    (isTesting(setting) || isTurning(setting) ? undefined : readTips(state, setting)) ??
    checkReading(state, setting) ??
    actOnResult(state, setting)
  );
}

/** Turning has begun: the tips of this setting are gone. */
function isTurning(setting: Setting): boolean {
  return setting.turned.length > 0 || setting.tightened;
}

/** Whether hangers carry is felt where they are going to be turned. */
function feel(state: JobState, setting: Setting): Task | undefined {
  if (!pathOf(state).levels || isTurning(setting)) return undefined;
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

function checkReading(state: JobState, setting: Setting): Task | undefined {
  const { readings, solution } = assess(state, setting);
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

function actOnResult(state: JobState, setting: Setting): Task {
  const assessment = assess(state, setting);
  const after = setting.assessed.at(-1)?.afterStep ?? -1;
  if (assessment.readings.some((r) => r.step > after) || setting.assessed.length === 0) {
    // A test's readings are what the test asks for, whatever they decide.
    const why = isTesting(setting) ? undefined : whyReadingEnds(state, setting, assessment);
    return { do: 'assess', assessment, ...(why === undefined ? {} : { why }) };
  }
  return (
    afterTurning(state, setting, assessment) ??
    checkTurning(setting, assessment) ??
    lookAtParts(state, setting, assessment) ??
    offerLevelling(state, assessment) ??
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

function readRefitted(state: JobState, setting: Setting): Task | undefined {
  const missing = refittedTipsToRead(state, setting);
  return readTip(state, missing, 2 * refitsDone(setting).length);
}

/** Turning that has begun goes on until every adjuster has had its turn; then the deck is seated again. */
function afterTurning(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  if (setting.tightened) return seatAgain(state, 'because tightening moves things');
  if (setting.turned.length === 0) return undefined;
  return nextTurn(state, setting, assessment) ?? seatAgain(state, 'so that the hangers take their load');
}

/** Only where the result is decided: more readings are cheaper than turning. */
function offerLevelling(state: JobState, assessment: Assessment): Task | undefined {
  const { decision } = assessment.result;
  if (pathOf(state).levels || state.levelling !== undefined || decision !== 'fail') return undefined;
  return turningHelps(state, assessment) ? { do: 'offer levelling', decision } : undefined;
}

function turnOrRepeat(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  const { decision } = assessment.result;
  const turn = () =>
    pathOf(state).levels && decision !== 'pass' && turningHelps(state, assessment)
      ? nextTurn(state, setting, assessment)
      : undefined;
  const goOn = () => (decision === 'undecided' ? settleUndecided(state, setting) : undefined);
  const next = isFull(state, setting) ? (goOn() ?? turn()) : (turn() ?? goOn());
  return next ?? (setting.stage === 'after turning' ? { do: 'tighten' } : undefined);
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

function seatAgain(state: JobState, why: string): Task {
  return { do: 'seat deck', seating: state.lastSeating + 1, why, family: state.profile.family };
}

/** No job is closed before every fixture that was on a blade has been seen on its height master. */
function closing(state: JobState): Task {
  const before = closingReading(state) ?? (state.givenUp === undefined ? beforeDelivery(state) : undefined);
  if (before !== undefined) return before;
  const caps = capsOf(state);
  const setting = currentSetting(state);
  const decided = setting?.assessed.at(-1)?.decision ?? 'undecided';
  const decision = caps.length > 0 && decided === 'pass' ? 'undecided' : decided;
  const advice =
    decided === 'undecided' && setting !== undefined && state.givenUp === undefined
      ? adviceOnUndecided(state, setting)
      : undefined;
  return { do: 'close', decision, caps, ...(advice === undefined ? {} : { advice }) };
}

/** The setting in hand, where there has to be one. */
export function settingOf(state: JobState): Setting {
  const setting = currentSetting(state);
  if (setting === undefined) throw numberedError('step out of order', 'the deck has not been seated');
  return setting;
}
