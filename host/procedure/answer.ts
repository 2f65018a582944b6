/** What a task may be answered with, and the event that an answer makes: the only way from one to the other. */
import type { AssessedMeasure, ItemAnswer, JobEvent, TurningFinding, WheelShim } from '../ledger/events';
import type { JobState } from './state';
import { settingOf, type Task } from './task';

/** What comes back for each question. */
interface Answers {
  'confirm cautions': 'done';
  'state claim': { readonly text: string };
  'carry over': 'the same' | 'one by one';
  prepare: ItemAnswer;
  'expired floor': 'put aside' | 'kept';
  'shim wheels': WheelShim | 'none';
  'seat deck': 'done';
  'feel hanger': 'carrying' | 'slack';
  'take up': 'done';
  'read by ruler': { readonly heightMm: number };
  'check reading': 'uphold' | { readonly setAside: string };
  turn: 'done' | 'by the live height';
  'check turning': TurningFinding;
  'refit blade': 'half a turn round' | 'not now';
  'swap blade': 'swapped' | 'not now';
  /** Lowest and highest live height meanwhile. */
  'push and pull': { readonly lowMm: number; readonly highMm: number } | 'not now';
  'decide part': 'replaced' | 'not now';
  'offer levelling': 'level it now' | 'leave it';
  tighten: 'done';
}

/** A task that somebody answers. The others are the conductor's own. */
export type Question = Extract<Task, { do: keyof Answers }>;
export type AnswerTo<Q extends Question> = Q extends { do: infer D extends keyof Answers }
  ? Answers[D]
  : never;

type QuestionOf<D extends keyof Answers> = Extract<Task, { do: D }>;
type EventsFor = {
  readonly [D in keyof Answers]: (question: QuestionOf<D>, answer: Answers[D], state: JobState) => JobEvent[];
};

/** The events that an answer makes, in the order in which they are appended. */
export function eventsFor<Q extends Question>(question: Q, answer: AnswerTo<Q>, state: JobState): JobEvent[] {
  const make = EVENTS[question.do] as (question: Q, answer: AnswerTo<Q>, state: JobState) => JobEvent[];
  return make(question, answer, state);
}

/** The event that writes a result down, with the numbers that it rests on. */
export function assessedEvent(
  { assessment }: Extract<Task, { do: 'assess' }>,
  state: JobState,
): Extract<JobEvent, { type: 'assessed' }> {
  const { decision, jointProbability } = assessment.result;
  const measures = state.profile.measures.map(({ name }, i): AssessedMeasure => {
    const solved = assessment.solution.measures[i];
    const judged = assessment.result.perMeasure[i];
    if (solved?.determined !== true) return { name };
    const { valueMm, standardUncertaintyMm } = solved;
    const probability = judged?.determined === true ? { probability: judged.probability } : {};
    return { name, valueMm, standardUncertaintyMm, ...probability };
  });
  const { stage } = settingOf(state);
  return { type: 'assessed', job: state.job, stage, decision, jointProbability, measures };
}

/** The event that asks for a reading, and its step. */
export function askedEvent(
  { target, ...task }: Extract<Task, { do: 'read' | 'read by ruler' }>,
  state: JobState,
): Extract<JobEvent, { type: 'step asked' }> {
  const fixtureId = task.do === 'read' ? task.fixtureId : undefined;
  return {
    type: 'step asked',
    job: state.job,
    step: state.lastStep + 1,
    target,
    ...(fixtureId === undefined ? {} : { fixtureId }),
  };
}

const EVENTS: EventsFor = {
  'confirm cautions': ({ cautions }, _, { job }) => [{ type: 'cautions confirmed', job, cautions }],
  'state claim': ({ field }, { text }, { job }) => [{ type: 'claim stated', job, field, text }],
  'carry over': (_, answer, { job }) => [{ type: 'carried over', job, answer }],
  prepare: ({ item }, answer, { job }) => [{ type: 'prepared', job, item: item.id, answer }],
  'expired floor': (_, answer, { job }) => [{ type: 'expired floor', job, answer }],
  'shim wheels': (_, shim, { job }) => [{ type: 'wheels shimmed', job, shim }],
  'seat deck': ({ seating }, _, { job }) => [{ type: 'deck seated', job, seating }],
  'feel hanger': ({ hanger }, state, { job }) => [{ type: 'hanger felt', job, hanger, state }],
  'take up': ({ hanger }, _, { job }) => [{ type: 'taken up', job, hanger }],
  'read by ruler': (task, { heightMm }, state) => {
    const asked = askedEvent(task, state);
    return [asked, { type: 'ruler read', job: state.job, step: asked.step, heightMm }];
  },
  'check reading': ({ reading }, answer, { job }) => {
    const which = { job, fixtureId: reading.fixtureId, capture: reading.number };
    return answer === 'uphold'
      ? [{ type: 'upheld', ...which }]
      : [{ type: 'set aside', ...which, reason: answer.setAside }];
  },
  turn: ({ adjuster, turns, live }, answer, { job }) =>
    answer === 'by the live height'
      ? [{ type: 'live turning', job, on: true }]
      : [
          {
            type: 'turned',
            job,
            adjuster: adjuster.name,
            turns,
            ...(live === undefined ? {} : { live: true }),
          },
        ],
  'check turning': (_, found, { job }) => [{ type: 'turning checked', job, found }],
  'refit blade': ({ spindle }, answer, { job }) => [{ type: 'blade refitted', job, spindle, answer }],
  'swap blade': ({ spindle }, answer, { job }) => [{ type: 'blade swapped', job, spindle, answer }],
  'push and pull': ({ spindle }, answer, { job }) => [
    { type: 'pushed and pulled', job, spindle, ...(answer === 'not now' ? {} : answer) },
  ],
  'decide part': ({ spindle, part }, answer, { job }) => [
    { type: 'part decided', job, spindle, part, answer },
  ],
  'offer levelling': (_, answer, { job }) => [{ type: 'levelling offered', job, answer }],
  tighten: (_, __, { job }) => [{ type: 'tightened', job }],
};
