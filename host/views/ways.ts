/** How a question can be answered: the same choices, words and keys on terminal and page. */
import type { ItemAnswer, TurningFinding } from '../ledger/events';
import type { Item } from '../machines/checklist';
import type { Question } from '../procedure/answer';
import type { Task } from '../procedure/task';
import { findingText } from './turning-words';
import { shimText } from './words';

/** One answer that can be chosen. */
export interface Way {
  /** The keys that choose it. `return` is also the space bar and the fixture's button, and stands for the usual answer. */
  readonly keys: readonly string[];
  readonly text: string;
  readonly answer: unknown;
}

/** An answer that is typed. */
export type Typing =
  | {
      readonly what: 'number';
      readonly unit: string;
      readonly lower?: number;
      readonly upper?: number;
      readonly answer: (value: number) => unknown;
    }
  | {
      readonly what: 'text';
      readonly prompt: string;
      readonly answer: (text: string) => unknown;
    };

/** Something to choose, something to type, or both. */
export interface Ways {
  readonly choices: readonly Way[];
  readonly typing?: Typing;
}

/** What was chosen or typed at a face, before it is an answer. */
export type Said = { readonly way: number } | { readonly number: number } | { readonly text: string };

/** The answer that was meant; undefined when the question cannot be answered like that. */
export function answerSaid({ choices, typing }: Ways, said: Said): { readonly answer: unknown } | undefined {
  if ('way' in said) {
    const way = choices[said.way];
    return way === undefined ? undefined : { answer: way.answer };
  }
  if ('number' in said)
    return typing?.what === 'number' && Number.isFinite(said.number)
      ? { answer: typing.answer(said.number) }
      : undefined;
  return typing?.what === 'text' ? { answer: typing.answer(said.text.trim()) } : undefined;
}

/** A number as people type it, with a point or a comma; undefined when it is none. */
export function numberIn(text: string): number | undefined {
  if (text.trim() === '') return undefined;
  const value = Number(text.trim().replace(',', '.'));
  return Number.isFinite(value) ? value : undefined;
}

const MOST_OFFERS = 9;
const done: Ways = { choices: [way(['return'], 'done', 'done')] };

/** `offers` are texts to choose from, where there are any. */
export function waysToAnswer(question: Question, offers: readonly string[] = []): Ways {
  switch (question.do) {
    case 'confirm cautions':
      return { choices: [way(['return'], 'read and confirmed', 'done')] };
    case 'state claim':
      return claim(offers.slice(0, MOST_OFFERS));
    case 'carry over':
      return choose(
        way(['return'], 'every line holds here too', 'the same'),
        way(['n'], 'ask one by one', 'one by one'),
      );
    case 'prepare':
      return prepare(question.item);
    case 'expired floor':
      return choose(
        way(['a', 'return'], 'put it aside for this job, judge without it', 'put aside'),
        way(['k'], 'keep to it, this job cannot pass', 'kept'),
      );
    case 'shim wheels':
      return choose(
        ...question.twist.shims.map((shim, i) => way([`${i + 1}`], shimText(shim), shim)),
        way(['n'], 'no shim, this job cannot pass', 'none'),
      );
    case 'seat deck':
    case 'take up':
    case 'tighten':
      return done;
    case 'feel hanger':
      return choose(way(['c', 'return'], 'it carries', 'carrying'), way(['s'], 'it is slack', 'slack'));
    case 'read by ruler':
      return { choices: [], typing: { what: 'number', unit: 'mm', answer: (heightMm) => ({ heightMm }) } };
    case 'check reading':
      return choose(
        way(['u'], 'it is right', 'uphold'),
        way(['a', 'return'], 'set it aside and read again', {
          setAside: 'the technician found the clamp wrong',
        }),
      );
    case 'turn':
      return question.canBeLive === true
        ? choose(...done.choices, way(['l'], 'turn by the live height instead', 'by the live height'))
        : done;
    case 'check turning':
      return choose(
        way(['return'], 'it was done as asked', { what: 'as said' } satisfies TurningFinding),
        ...question.findings.map((finding, i) => way([`${i + 1}`], findingText(finding), finding)),
      );
    case 'refit blade':
      return orNotNow('refitted', 'half a turn round');
    case 'swap blade':
      return orNotNow('a good blade is on', 'swapped');
    case 'push and pull':
      return orNotNow('pushed and pulled', 'done');
    case 'decide part':
      return orNotNow('replaced', 'replaced');
    case 'offer levelling':
      return choose(way(['return'], 'level it now', 'level it now'), way(['n'], 'leave it', 'leave it'));
  }
}

/** What can be said when a reading is to be taken. A clamp that moved since its last reading is another clamping. */
export function waysToRead({ target, reclamp }: Extract<Task, { do: 'read' }>): Ways {
  const capture = way(['return'], 'capture', 'capture');
  return target.kind === 'tip' && !reclamp
    ? choose(capture, way(['c'], 'I clamped it anew', 'clamped anew'))
    : choose(capture);
}

function way(keys: readonly string[], text: string, answer: unknown): Way {
  return { keys, text, answer };
}

function choose(...choices: readonly Way[]): Ways {
  return { choices };
}

function orNotNow(text: string, answer: string): Ways {
  return choose(way(['return'], text, answer), way(['n'], 'not now', 'not now'));
}

/** What the readings offer comes first; anything else is typed. */
function claim(offers: readonly string[]): Ways {
  const typing = { what: 'text', prompt: 'type it', answer: (text: string) => ({ text }) } as const;
  const empty = way(['x'], 'leave it empty', { text: '' });
  return {
    choices: [
      ...offers.map((text, i) => way([`${i + 1}`, ...(i === 0 ? ['return'] : [])], text, { text })),
      empty,
    ],
    typing,
  };
}

/** One key where it is in order; a number is typed when it is to be on the record. */
function prepare({ number, choice, note }: Item): Ways {
  const absent = way(['x'], 'not on this machine', 'not on this machine');
  if (note === true)
    return { choices: [], typing: { what: 'text', prompt: 'type the note', answer: (noted) => ({ noted }) } };
  if (choice !== undefined)
    return choose(
      ...choice.of.map((word, i) => way([`${i + 1}`], word, { chosen: word } satisfies ItemAnswer)),
      absent,
    );
  if (number === undefined) return choose(way(['y', 'return'], 'yes', 'yes'), way(['n'], 'no', 'no'), absent);
  return {
    choices: [way(['y'], 'within the limits', 'yes'), way(['n'], 'outside them', 'no'), absent],
    typing: { what: 'number', ...number, answer: (value) => value },
  };
}
