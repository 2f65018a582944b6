/** What a screen in the bay shows: the whole of it, small enough to be sent after every change. Lengths in mm. */
import type { ClaimField, Decision, StepTarget, Use } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import { assess, tipReadings } from '../procedure/assess';
import { capsOf } from '../procedure/caps';
import { onBlade } from '../procedure/fixtures';
import { itemsOf } from '../procedure/preparation';
import { currentSetting, type JobState, type Reading } from '../procedure/state';
import type { Task } from '../procedure/task';
import { trackOf, type Station } from './job-track';
import type { LiveReading, LiveView } from './live-view';
import type { JobPictures } from './job-pictures';
import type { ResultPart } from './result-part';
import type { SessionPart } from './session-part';
import { stageView, type StageView } from './stage-view';
import { answerText, type TaskWords } from './task-text';
import type { Ways } from './ways';
import { RESULT_WORDS, targetText, USE_TITLES } from './words';

/** The parts are sent one by one, each when it has changed. JSON makes null of a number that is not known (NaN). */
export interface BayScreen {
  readonly bay: BayPart;
  readonly job: JobPart | null;
  /** A check or study that is being taken, or was just taken. */
  readonly session: SessionPart | null;
  /** The machine of the job in hand. */
  readonly machine: MachineProfile | null;
  /** What each set of readings of the job showed, oldest first. */
  readonly results: readonly ResultPart[];
  readonly pictures: JobPictures | null;
}

export interface BayPart {
  readonly name: string;
  /** The shop is simulated: every screen says so. */
  readonly simulated: boolean;
  readonly fixtures: readonly { readonly fixtureId: string; readonly isHere: boolean }[];
  /** Newest last; what was said since the question before this one. */
  readonly notices: readonly string[];
  /** What the job cannot go on for. */
  readonly trouble: ErrorPart | null;
  /** A fixture may be on a blade, and nobody is at the job or the fixture is not to be heard. */
  readonly doNotStart: boolean;
  readonly openJobs: readonly OpenJob[];
}

export interface ErrorPart {
  readonly number: number;
  readonly cause: string;
  readonly about: string;
  readonly nextStep: string;
  /** It is tried again by itself. */
  readonly retried: boolean;
}

export interface OpenJob {
  readonly job: number;
  readonly useTitle: string;
  readonly model: string;
  readonly serialNumber: string;
  readonly onBlade: boolean;
}

export interface JobPart {
  readonly job: number;
  readonly use: Use;
  readonly useTitle: string;
  readonly model: string;
  readonly serialNumber: string;
  readonly workOrder: string;
  readonly technician: string;
  readonly simulated: boolean;
  /** Machines of this model come one after the other. */
  readonly isBatch: boolean;
  /** What was answered so far, to be put right if need be. */
  readonly answered: readonly { readonly item: string; readonly text: string; readonly answer: string }[];
  readonly claim: readonly { readonly field: ClaimField; readonly text: string }[];
  readonly track: readonly Station[];
  /** Null while the job works by itself, or waits for a fixture. */
  readonly question: QuestionPart | null;
  readonly readings: readonly ReadingPart[];
  readonly felt: readonly { readonly hanger: string; readonly state: 'carrying' | 'slack' }[];
  /** What keeps a pass from being called one. */
  readonly caps: readonly string[];
  /** What would settle a result that is undecided. */
  readonly advice: string | null;
  readonly closed: { readonly decision: Decision; readonly word: string } | null;
}

/** A question of the job. It is answered under its number, by whoever is first. */
export interface QuestionPart {
  readonly n: number;
  readonly asks: Task['do'];
  readonly words: TaskWords;
  readonly choices: readonly { readonly keys: readonly string[]; readonly text: string }[];
  readonly typing: TypingPart | null;
  /** A live height belongs to it. */
  readonly live: boolean;
  /** It has been answered and is being done: "waiting for stillness". */
  readonly busy: string | null;
}

export type TypingPart =
  | {
      readonly what: 'number';
      readonly unit: string;
      readonly lower: number | null;
      readonly upper: number | null;
    }
  | { readonly what: 'text'; readonly prompt: string };

export interface ReadingPart {
  readonly by: Reading['by'];
  readonly fixtureId: string;
  readonly number: number;
  readonly target: StepTarget;
  readonly text: string;
  readonly heightMm: number;
  /** How far it lies above what all readings of this setting together say; null for others, and while they do not say. */
  readonly residualMm: number | null;
  readonly setAside: string | null;
  readonly upheld: boolean;
  /** Of the set of readings that is being taken now. */
  readonly isOfNow: boolean;
}

/** A live height, twenty times a second. */
export interface LivePart extends LiveReading {
  readonly fixtureId: string;
  /** The fixture's own clock. */
  readonly uptimeMs: number;
  /** While an adjuster is turned by it. */
  readonly bar: LiveView | null;
}

/** `task` is what is done now, `advice` what was said when the job was closed. */
export function jobPart(
  state: JobState,
  task: Task,
  question: QuestionPart | null,
  { isBatch, advice }: { readonly isBatch: boolean; readonly advice: string | undefined },
): JobPart {
  const setting = currentSetting(state);
  return {
    job: state.job,
    use: state.use,
    useTitle: USE_TITLES[state.use],
    model: state.profile.model,
    serialNumber: state.serialNumber,
    workOrder: state.workOrder,
    technician: state.technician,
    simulated: state.simulated,
    isBatch,
    answered: itemsOf(state).flatMap((item) => {
      const answer = state.prepared[item.id];
      return answer === undefined ? [] : { item: item.id, text: item.text, answer: answerText(answer, item) };
    }),
    claim: (Object.entries(state.claim) as [ClaimField, string][]).map(([field, text]) => ({ field, text })),
    track: trackOf(state, task),
    question,
    readings: readingParts(state),
    felt: Object.entries(setting?.felt ?? {}).map(([hanger, felt]) => ({ hanger, state: felt })),
    caps: capsOf(state),
    advice: advice ?? null,
    closed: state.closed === undefined ? null : { decision: state.closed, word: RESULT_WORDS[state.closed] },
  };
}

export function questionPart(
  n: number,
  asks: Task['do'],
  words: TaskWords,
  { choices, typing }: Ways,
  live: boolean,
  busy: string | null = null,
): QuestionPart {
  return {
    n,
    asks,
    words,
    choices: choices.map(({ keys, text }) => ({ keys, text })),
    typing: typing === undefined ? null : typingPart(typing),
    live,
    busy,
  };
}

export function stagesOf(state: JobState): StageView[] {
  return state.settings
    .filter((s) => s.assessed.length > 0)
    .map((setting) => stageView(state, setting, assess(state, setting)));
}

export function openJobPart(state: JobState): OpenJob {
  return {
    job: state.job,
    useTitle: USE_TITLES[state.use],
    model: state.profile.model,
    serialNumber: state.serialNumber,
    onBlade: onBlade(state),
  };
}

function typingPart(typing: NonNullable<Ways['typing']>): TypingPart {
  if (typing.what === 'text') return { what: 'text', prompt: typing.prompt };
  const { unit, lower = null, upper = null } = typing;
  return { what: 'number', unit, lower, upper };
}

function readingParts(state: JobState): ReadingPart[] {
  const setting = currentSetting(state);
  const isRead = setting !== undefined && tipReadings(state, setting).length > 0;
  const assessment = isRead ? assess(state, setting) : undefined;
  const residuals = new Map(
    assessment?.readings.map((r, i) => [`${r.fixtureId} ${r.number}`, assessment.solution.residuals[i]]),
  );
  return state.readings.map((reading): ReadingPart => {
    const key = `${reading.fixtureId} ${reading.number}`;
    const residual = residuals.get(key);
    return {
      by: reading.by,
      fixtureId: reading.fixtureId,
      number: reading.number,
      target: reading.target,
      text: targetText(reading.target),
      heightMm: reading.by === 'ruler' ? reading.heightMm : reading.capture.height / 1000,
      residualMm: residual?.determined === true ? residual.valueMm : null,
      setAside: reading.setAside ?? null,
      upheld: reading.upheld,
      isOfNow: residuals.has(key),
    };
  });
}
