/** A technician at the keyboard: every question is answered by one key, or by typing a number or a line. */
import type { Hands, Question, SaidTo } from '../conduct/hands';
import type { ItemAnswer, TurningFinding, WheelShim } from '../ledger/events';
import type { Item } from '../machines/checklist';
import { findingText } from '../views/turning-words';
import { shimText } from '../views/words';
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
  const { choose, typed } = questions(keys, say, () => keys.next());
  return { choice: choose, number: (prompt) => typedNumber(prompt, typed, say), text: typed };
}

type Choose = <T>(prompt: string, choices: Record<string, T>) => Promise<T>;

/** Where there are several keys for one answer, and for the fixture's button, which stands for return. */
const BUTTON = 'return';

export function terminalHands(keys: Keys, say: (text: string) => void): Hands {
  let button = new AbortController();
  const keyOrButton = async (): Promise<string> => {
    button = new AbortController();
    const { signal } = button;
    return keys.next(signal).catch(() => (signal.aborted ? BUTTON : 'escape'));
  };
  const { choose, typed } = questions(keys, say, keyOrButton);
  const done = (prompt = 'return: done') => choose(prompt, { return: 'done', space: 'done' } as const);
  const notNow = <T extends string>(prompt: string, answer: T): Promise<T | 'not now'> =>
    choose<T | 'not now'>(`return: ${prompt}   n: not now`, { return: answer, n: 'not now' });

  const answers: { readonly [D in Question['do']]: Ask<D> } = {
    'confirm cautions': () => done('return: read and confirmed'),
    'state claim': (_, offers = []) => stateClaim(offers, choose, typed, say),
    'carry over': () =>
      choose('return: every line holds here too   n: ask one by one', {
        return: 'the same',
        n: 'one by one',
      } as const),
    prepare: ({ item }) => prepare(item, keys, choose, typed, say),
    'expired floor': () =>
      choose(
        'a or return: put it aside for this job, judge without it   k: keep to it, this job cannot pass',
        {
          a: 'put aside',
          return: 'put aside',
          k: 'kept',
        } as const,
      ),
    'shim wheels': ({ twist }) => {
      const listed = twist.shims.map((s, i) => `${i + 1}: ${shimText(s)}`);
      return choose(
        [...listed, 'n: no shim, this job cannot pass'].join('   '),
        Object.fromEntries<WheelShim | 'none'>([
          ...twist.shims.map((s, i) => [`${i + 1}`, s] as const),
          ['n', 'none'],
        ]),
      );
    },
    'seat deck': () => done(),
    'feel hanger': () => choose('c or return: it carries   s: it is slack', FELT),
    'take up': () => done(),
    'read by ruler': async () => ({
      heightMm: await typedNumber('type the height in mm and return', typed, say),
    }),
    'check reading': async () => {
      const answer = await choose('u: it is right   a or return: set it aside and read again', {
        u: 'uphold',
        a: 'aside',
        return: 'aside',
      } as const);
      return answer === 'uphold' ? 'uphold' : { setAside: 'the technician found the clamp wrong' };
    },
    turn: ({ canBeLive }) =>
      canBeLive === true
        ? choose('return: done   l: turn by the live height instead', {
            return: 'done',
            space: 'done',
            l: 'by the live height',
          } as const)
        : done(),
    'check turning': ({ findings }) => {
      const listed = findings.map((f, i) => `${i + 1}: ${findingText(f)}`);
      return choose(
        ['return: it was done as asked', ...listed].join('   '),
        Object.fromEntries<TurningFinding>([
          ['return', { what: 'as said' }],
          ...findings.map((f, i) => [`${i + 1}`, f] as const),
        ]),
      );
    },
    'refit blade': () => notNow('refitted', 'half a turn round'),
    'swap blade': () => notNow('a good blade is on', 'swapped'),
    'push and pull': () => notNow('pushed and pulled', 'done'),
    'decide part': () => notNow('replaced', 'replaced'),
    'offer levelling': () =>
      choose('return: level it now   n: leave it', { return: 'level it now', n: 'leave it' } as const),
    tighten: () => done(),
  };

  return {
    answer: (question, offers) => {
      const ask = answers[question.do] as (q: Question, offers?: readonly string[]) => Promise<unknown>;
      return ask(question, offers) as Promise<SaidTo<typeof question>>;
    },
    read: async (_task, fixture, over) => {
      await fixture.arm();
      say("    space, or the fixture's button: capture   [escape: leave the job open]");
      while (!over.aborted) {
        const key = await keys.next(over).catch(() => 'over');
        if (key === 'escape') throw new LeftByTechnician();
        if (key === 'space' || key === 'return') await fixture.capture();
      }
    },
    pressed: () => button.abort(),
  };
}

/** A question is said with the way out of it, and waits for one of its keys or for a line. */
function questions(
  keys: Keys,
  say: (text: string) => void,
  next: () => Promise<string>,
): { readonly choose: Choose; readonly typed: Typed } {
  const choose: Choose = async (prompt, choices) => {
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
  return { choose, typed };
}

type Ask<D extends Question['do']> = (
  question: Extract<Question, { do: D }>,
  offers?: readonly string[],
) => Promise<SaidTo<Extract<Question, { do: D }>>>;
type Typed = (prompt: string) => Promise<string>;

const FELT = { c: 'carrying', return: 'carrying', s: 'slack' } as const;
const MOST_OFFERS = 9;

/** A number key takes what the readings offer; anything else is typed. */
async function stateClaim(
  offers: readonly string[],
  choose: Choose,
  typed: Typed,
  say: (text: string) => void,
): Promise<{ text: string }> {
  const listed = offers.slice(0, MOST_OFFERS);
  if (listed.length === 0) return { text: await typed('type it and return; return alone leaves it empty') };
  listed.forEach((offer, i) => say(`      ${i + 1}: ${offer}`));
  const which = await choose('the number, or return for the first   t: type another   x: leave it empty', {
    ...Object.fromEntries(listed.map((_, i) => [`${i + 1}`, i])),
    return: 0,
    t: 't' as const,
    x: 'x' as const,
  });
  if (which === 't') return { text: await typed('type it and return') };
  return { text: which === 'x' ? '' : (listed[which] ?? '') };
}

/** One key where it is in order; a number is typed when it is to be on the record. */
async function prepare(
  item: Item,
  keys: Keys,
  choose: Choose,
  typed: Typed,
  say: (text: string) => void,
): Promise<ItemAnswer> {
  const { number, choice, note } = item;
  if (note === true) return { noted: await typed('type the note and return') };
  if (choice !== undefined) {
    const keyed = choice.of.map((word, i) => [`${i + 1}`, { chosen: word }] as const);
    const prompt = choice.of.map((word, i) => `${i + 1}: ${word}`).join('   ');
    return choose<ItemAnswer>(`${prompt}   x: not on this machine`, {
      ...Object.fromEntries(keyed),
      x: 'not on this machine',
    });
  }
  if (number === undefined) {
    const answers = { y: 'yes', return: 'yes', n: 'no', x: 'not on this machine' } as const;
    return choose('y or return: yes   n: no   x: not on this machine', answers);
  }
  const starts = Object.fromEntries([...'0123456789-'].map((d) => [d, d]));
  for (;;) {
    const first = await choose(
      `type the number in ${number.unit} and return   y: within the limits   n: not   x: not on this machine`,
      { ...starts, y: 'yes', n: 'no', x: 'not on this machine' },
    );
    if (first === 'yes' || first === 'no' || first === 'not on this machine') return first;
    const value = numberIn(await keys.line(first));
    if (value !== undefined) return value;
    say('    that is no number');
  }
}

async function typedNumber(prompt: string, typed: Typed, say: (text: string) => void): Promise<number> {
  for (;;) {
    const value = numberIn(await typed(prompt));
    if (value !== undefined) return value;
    say('    that is no number');
  }
}

function numberIn(text: string | undefined): number | undefined {
  if (text === undefined || text.trim() === '') return undefined;
  const value = Number(text.trim().replace(',', '.'));
  return Number.isFinite(value) ? value : undefined;
}
