/** One question at a time, under a running number, open to every screen; the first answer counts. */
import { numberedError } from '../errors/errors';
import type { Task } from '../procedure/task';
import { questionPart, type QuestionPart } from '../views/bay-screen';
import type { TaskWords } from '../views/task-text';
import { answerSaid, type Said, type Ways } from '../views/ways';

export interface Asked {
  readonly asks: Task['do'];
  readonly words: TaskWords;
  readonly ways: Ways;
  /** A live height belongs to it. */
  readonly live: boolean;
}

export interface Asking {
  /** Number of the newest question. */
  asked(): number;
  /** What is asked, or being done; undefined while there is nothing. */
  current(): QuestionPart | undefined;
  /** Puts a question and waits for its answer. Withdrawn when `over` fires: then it never resolves. */
  ask(asked: Asked, over?: AbortSignal): Promise<unknown>;
  /** Shows a question as answered and being done. */
  doing(asked: Asked, what: string): void;
  /** Nothing is asked any more; whoever waits for an answer waits for ever. */
  clear(): void;
  /** Takes an answer. Throws 510 when another was first, and 509 when it is none to this question. */
  answer(n: number, said: Said): void;
  /** Chooses the usual answer, as the button of the fixture does; nothing happens where there is none. */
  usual(): void;
}

/** `changed` is called whenever something else is asked. Numbers go on from `first`. */
export function createAsking(first: number, changed: () => void): Asking {
  let n = first;
  let shown: QuestionPart | undefined;
  let open: { readonly ways: Ways; readonly resolve: (answer: unknown) => void } | undefined;

  const show = (part: QuestionPart | undefined) => {
    shown = part;
    changed();
  };
  const clear = () => {
    open = undefined;
    show(undefined);
  };
  const answer: Asking['answer'] = (number, said) => {
    if (open === undefined || number !== n) throw numberedError('already answered', `question ${number}`);
    const { ways, resolve } = open;
    const found = answerSaid(ways, said);
    if (found === undefined) throw numberedError('request not understood', `no answer to question ${number}`);
    clear();
    resolve(found.answer);
  };
  return {
    asked: () => n,
    current: () => shown,
    ask: (asked, over) =>
      new Promise((resolve) => {
        n += 1;
        const mine = { ways: asked.ways, resolve };
        open = mine;
        over?.addEventListener('abort', () => open === mine && clear());
        show(questionPart(n, asked.asks, asked.words, asked.ways, asked.live));
      }),
    doing: (asked, what) => show(questionPart(n, asked.asks, asked.words, asked.ways, asked.live, what)),
    clear,
    answer,
    usual: () => {
      const way = open?.ways.choices.findIndex(({ keys }) => keys.includes('return')) ?? -1;
      if (way >= 0) answer(n, { way });
    },
  };
}
