/** A technician at the keyboard: every question is answered by one key, or by typing a number or a line. */
import type { Hands, SaidTo } from '../conduct/hands';
import { numberIn, waysToAnswer, waysToRead, type Typing, type Way } from '../views/ways';
import type { Asking } from './tape-questions';

/** Keys as they are pressed, one at a time, by name: a letter, `return`, `space`, `escape`. */
export interface Keys {
  /** The next key. Rejects when the signal fires. */
  next(signal?: AbortSignal): Promise<string>;
  /** A line of text that begins with `first`, ended by return. Undefined when it was left with escape. */
  line(first: string): Promise<string | undefined>;
}

/** Thrown when the technician leaves the job; the job stays open. */
export class LeftByTechnician extends Error {}

/** One question after another, outside of a job: a key, a number, a line. */
export function terminalAsking(keys: Keys, say: (text: string) => void): Asking {
  const { choose, typed, number } = questions(keys, say, () => keys.next());
  return { choice: choose, number, text: typed };
}

/** Where there are several keys for one answer, and for the fixture's button, which stands for return. */
const BUTTON = 'return';
const NUMBER_STARTS = [...'0123456789-'];

export function terminalHands(keys: Keys, say: (text: string) => void): Hands {
  let button = new AbortController();
  const keyOrButton = async (): Promise<string> => {
    button = new AbortController();
    const { signal } = button;
    return keys.next(signal).catch(() => (signal.aborted ? BUTTON : 'escape'));
  };
  const { choose, typed, number } = questions(keys, say, keyOrButton);

  const chosen = async (choices: readonly Way[], prompt = promptOf(choices)): Promise<unknown> => {
    const byKey = choices.flatMap((way) => keysOf(way).map((key) => [key, way] as const));
    return (await choose(prompt, Object.fromEntries(byKey))).answer;
  };
  /** The choices and a number: its first digit is a key like any other. */
  const chosenOrNumber = async (
    choices: readonly Way[],
    typing: Extract<Typing, { what: 'number' }>,
  ): Promise<unknown> => {
    const prompt = `type the number in ${typing.unit} and return   ${promptOf(choices)}`;
    const starts = NUMBER_STARTS.map((digit) => ({ keys: [digit], text: '', answer: { digit } }));
    for (;;) {
      const answer = await chosen([...choices, ...starts], prompt);
      if (!isDigit(answer)) return answer;
      const value = numberIn((await keys.line(answer.digit)) ?? '');
      if (value !== undefined) return typing.answer(value);
      say('    that is no number');
    }
  };
  /** The choices by their numbers, and one key for typing something else. */
  const chosenOrTyped = async (
    choices: readonly Way[],
    typing: Extract<Typing, { what: 'text' }>,
  ): Promise<unknown> => {
    const offers = choices.filter((way) => way.keys[0] !== 'x');
    if (offers.length === 0)
      return typing.answer(await typed(`${typing.prompt} and return; return alone leaves it empty`));
    offers.forEach((offer) => say(`      ${offer.keys[0]}: ${offer.text}`));
    const other = { keys: ['t'], text: '', answer: undefined };
    const answer = await chosen(
      [...choices, other],
      'the number, or return for the first   t: type another   x: leave it empty',
    );
    return answer ?? typing.answer(await typed(`${typing.prompt} and return`));
  };

  return {
    answer: async (question, offers) => {
      const { choices, typing } = waysToAnswer(question, offers);
      const ask = () => {
        if (typing === undefined) return chosen(choices);
        if (typing.what === 'text') return chosenOrTyped(choices, typing);
        if (choices.length > 0) return chosenOrNumber(choices, typing);
        return number(`type the height in ${typing.unit} and return`).then(typing.answer);
      };
      return (await ask()) as SaidTo<typeof question>;
    },
    read: async (task, fixture, over) => {
      await fixture.arm();
      const { choices } = waysToRead(task);
      const others = choices.slice(1).map(({ keys: [key], text }) => `   ${key}: ${text}`);
      say(`    space, or the fixture's button: capture${others.join('')}   [escape: leave the job open]`);
      while (!over.aborted) {
        const key = await keys.next(over).catch(() => 'over');
        if (key === 'escape') throw new LeftByTechnician();
        const said = choices.find((way) => keysOf(way).includes(key))?.answer;
        if (said === 'clamped anew') return said;
        if (said === 'capture') await fixture.capture();
      }
      return undefined;
    },
    pressed: () => button.abort(),
  };
}

/** "c or return: it carries   s: it is slack" */
function promptOf(choices: readonly Way[]): string {
  return choices.map(({ keys, text }) => `${keys.join(' or ')}: ${text}`).join('   ');
}

function keysOf({ keys }: Way): readonly string[] {
  return keys.includes('return') ? [...keys, 'space'] : keys;
}

function isDigit(answer: unknown): answer is { digit: string } {
  return typeof answer === 'object' && answer !== null && 'digit' in answer;
}

/** A question is said with the way out of it, and waits for one of its keys or for a line. */
function questions(keys: Keys, say: (text: string) => void, next: () => Promise<string>) {
  const choose = async <T>(prompt: string, choices: Record<string, T>): Promise<T> => {
    say(`    ${prompt}   [escape: leave the job open]`);
    for (;;) {
      const key = await next();
      if (key === 'escape') throw new LeftByTechnician();
      const choice = choices[key];
      if (choice !== undefined) return choice;
    }
  };
  const typed = async (prompt: string): Promise<string> => {
    say(`    ${prompt}   [escape: leave the job open]`);
    const text = await keys.line('');
    if (text === undefined) throw new LeftByTechnician();
    return text.trim();
  };
  const number = async (prompt: string): Promise<number> => {
    for (;;) {
      const value = numberIn(await typed(prompt));
      if (value !== undefined) return value;
      say('    that is no number');
    }
  };
  return { choose, typed, number };
}
