/** A technician at the keyboard: every question is answered by one key, or by typing a number. */
import type { AnswerTo, Hands, Question } from '../conduct/hands';
import type { TurningFinding, WheelShim } from '../ledger/events';
import { findingText } from '../views/turning-words';
import { shimText } from '../views/words';

/** Keys as they are pressed, one at a time, by name: a letter, `return`, `space`, `escape`. */
export interface Keys {
  /** The next key. Rejects when the signal fires. */
  next(signal?: AbortSignal): Promise<string>;
  /** A line of text, ended by return. */
  line(first: string): Promise<string>;
}

/** Thrown when the technician leaves the job; the job stays open. */
export class LeftByTechnician extends Error {}

export function terminalHands(keys: Keys, say: (text: string) => void): Hands {
  const choose = async <T>(prompt: string, choices: Record<string, T>): Promise<T> => {
    say(`    ${prompt}   [escape: leave the job open]`);
    for (;;) {
      const key = await keys.next();
      if (key === 'escape') throw new LeftByTechnician();
      const choice = choices[key];
      if (choice !== undefined) return choice;
    }
  };
  const done = { return: 'done', space: 'done' } as const;

  const ask = async (question: Question): Promise<AnswerTo<Question>> => {
    switch (question.do) {
      case 'prepare':
        return prepare(question, keys, choose, say);
      case 'feel hanger':
        return choose('c: it carries   s: it is slack', { c: 'carrying', s: 'slack' } as const);
      case 'check reading': {
        const answer = await choose('u: it is right   a: set it aside and read again', {
          u: 'uphold',
          a: 'aside',
        } as const);
        return answer === 'uphold' ? 'uphold' : { setAside: 'the technician found the clamp wrong' };
      }
      case 'check turning':
        return choose(
          [
            'return: it was done as asked',
            ...question.findings.map((f, i) => `${i + 1}: ${findingText(f)}`),
          ].join('   '),
          Object.fromEntries<TurningFinding>([
            ['return', { what: 'as said' }],
            ...question.findings.map((f, i) => [`${i + 1}`, f] as const),
          ]),
        );
      case 'expired floor':
        return choose(
          'a: put it aside for this job, judge without it   k: keep to it, this job cannot pass',
          {
            a: 'put aside',
            k: 'kept',
          } as const,
        );
      case 'shim wheels':
        return choose(
          [
            ...question.twist.shims.map((s, i) => `${i + 1}: ${shimText(s)}`),
            'n: no shim, this job cannot pass',
          ].join('   '),
          Object.fromEntries<WheelShim | 'none'>([
            ...question.twist.shims.map((s, i) => [`${i + 1}`, s] as const),
            ['n', 'none'],
          ]),
        );
      case 'refit blade':
        return choose('return: refitted   n: not now', {
          return: 'half a turn round',
          n: 'not now',
        } as const);
      case 'confirm cautions':
        return choose('return: read and confirmed', done);
      case 'seat deck':
      case 'take up':
      case 'turn':
      case 'tighten':
        return choose('return: done', done);
    }
  };

  return {
    answer: (question) => ask(question) as Promise<AnswerTo<typeof question>>,
    read: async (_task, fixture, over) => {
      await fixture.arm();
      say("    space, or the fixture's button: capture   [escape: leave the job open]");
      while (!over.aborted) {
        const key = await keys.next(over).catch(() => 'over');
        if (key === 'escape') throw new LeftByTechnician();
        if (key === 'space' || key === 'return') await fixture.capture();
      }
    },
  };
}

async function prepare(
  question: Extract<Question, { do: 'prepare' }>,
  keys: Keys,
  choose: <T>(prompt: string, choices: Record<string, T>) => Promise<T>,
  say: (text: string) => void,
): Promise<'yes' | 'no' | 'not on this machine' | number> {
  const answers = { y: 'yes', return: 'yes', n: 'no', x: 'not on this machine' } as const;
  const range = question.item.number;
  if (range === undefined) return choose('y: yes   n: no   x: not on this machine', answers);
  const digits = Object.fromEntries([...'0123456789'].map((d) => [d, d]));
  for (;;) {
    const first = await choose(`type the number in ${range.unit} and return   x: not on this machine`, {
      ...digits,
      x: 'x',
    });
    if (first === 'x') return 'not on this machine';
    const value = Number((await keys.line(first)).replace(',', '.'));
    if (Number.isFinite(value)) return value;
    say('    that is no number');
  }
}
