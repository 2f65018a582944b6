/** The one thing to do, in large type, what the fixture shows meanwhile, and every way to answer it. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import type { QuestionPart } from '../../views/bay-screen';
import type { Units } from '../preferences';
import { Refusal } from '../refusal';
import { sentence } from '../units';
import { useAnswering, type Answering } from './answering';
import { LiveHeight } from './live-height';
import { NumberPad } from './number-pad';

interface QuestionProps {
  readonly question: QuestionPart;
  readonly units: Units;
  /** What it looks like, beside it or below. */
  readonly children: ComponentChildren;
}

/** A question of a job, a check, a study or a calibration: all are answered the same way. */
export function Question({ question, units, children }: QuestionProps) {
  const answering = useAnswering(question);
  const { n, asks, live } = question;
  // A new thing to do is read from its beginning, however far down the last one was answered.
  useEffect(() => scrollTo(0, 0), [n]);
  return (
    <section
      class="question bench"
      aria-label="What to do now"
      data-asks={asks}
      data-n={n}
      data-ready={answering.isReady}
    >
      <div class="now">
        <Asked question={question} units={units} />
        {live && <LiveHeight units={units} />}
      </div>
      <div class="beside">{children}</div>
      <Answers key={n} question={question} units={units} answering={answering} />
    </section>
  );
}

/** Between two questions there is none while the next is worked out. */
const HOLDS_MS = 300;

/**
 * The question to show: the one that was answered stays for the blink of an eye in which there is none, or the whole screen
 * would flash at every answer. Null where nothing is asked for longer.
 */
export function useSteady(question: QuestionPart | null): QuestionPart | null {
  const [held, hold] = useState(question);
  useEffect(() => {
    if (question !== null) {
      hold(question);
      return undefined;
    }
    const timer = setTimeout(() => hold(null), HOLDS_MS);
    return () => clearTimeout(timer);
  }, [question]);
  return question ?? held;
}

/** What is asked: readable at one metre. */
function Asked({ question: { words }, units }: { question: QuestionPart; units: Units }) {
  const { say, list, then, aside } = words;
  return (
    <>
      {aside !== undefined && <p class="aside">{sentence(aside, units)}</p>}
      <h1 class={list === undefined ? 'task' : 'task short'} aria-live="polite">
        {sentence(say, units)}
      </h1>
      {list !== undefined && (
        <ul class="lines">
          {list.map((line) => (
            <li>{sentence(line, units)}</li>
          ))}
        </ul>
      )}
      {then !== undefined && <p class="then">{then}</p>}
    </>
  );
}

/** Every way to answer: touched, by its key, or typed. */
function Answers({ question, units, answering }: AnswersProps) {
  const { n, choices, typing, busy } = question;
  const { isReady, typed, type, choose, enter, refused } = answering;
  const isText = typing?.what === 'text';
  const main = useRef<HTMLButtonElement>(null);
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    // Whoever works by keys finds the usual answer under them, or the field for a text; a digit finds its field itself.
    if (isReady) (main.current ?? (isText ? field.current : null))?.focus({ preventScroll: true });
  }, [isReady, isText]);
  useAnswerKeys(question, choose, () => field.current?.focus());
  return (
    <div class="actions">
      <Refusal refused={refused} />
      {busy !== null && (
        <p class="busy" role="status">
          {busy}…
        </p>
      )}
      {busy === null && typing !== null && (
        <form
          class="typing"
          onSubmit={(event) => {
            event.preventDefault();
            enter();
          }}
        >
          <label>
            <span>
              {typing.what === 'number'
                ? `Number in ${typing.unit}`
                : choices.length > 1
                  ? 'Or type another'
                  : 'Type it'}
            </span>
            <input
              ref={field}
              value={typed}
              autocomplete="off"
              inputMode={typing.what === 'number' ? 'none' : 'text'}
              onInput={(event) => type(event.currentTarget.value)}
            />
          </label>
          <button type="submit">Enter</button>
          {typing.what === 'number' && <NumberPad typed={typed} type={type} />}
        </form>
      )}
      {busy === null && (
        <div class="choices">
          {choices.map(({ text, keys }, way) => {
            const isMain = keys.includes('return');
            return (
              <button
                key={`${n} ${way}`}
                {...(isMain ? { ref: main } : {})}
                type="button"
                class={isMain ? 'main' : ''}
                aria-disabled={!isReady}
                onClick={() => choose(way)}
              >
                <span>{sentence(text, units)}</span>
                <kbd>{isMain ? 'space' : keys[0]}</kbd>
              </button>
            );
          })}
        </div>
      )}
    </div>
  );
}

interface AnswersProps {
  readonly question: QuestionPart;
  readonly units: Units;
  readonly answering: Answering;
}

/** One key for each answer, wherever the focus is; a digit goes on into the field for a number. */
function useAnswerKeys(
  { choices, typing }: QuestionPart,
  choose: (way: number) => void,
  toField: () => void,
): void {
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.defaultPrevented || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
      const at = event.target instanceof Element ? event.target : document.body;
      if (at.closest('input, textarea, select, dialog') !== null) return;
      const isReturn = event.key === ' ' || event.key === 'Enter';
      if (isReturn && at.closest('button, a, summary') !== null) return;
      const key = isReturn ? 'return' : event.key.toLowerCase();
      const way = choices.findIndex(({ keys }) => keys.includes(key));
      if (way >= 0) {
        event.preventDefault();
        choose(way);
      } else if (typing?.what === 'number' && /^[\d-]$/.test(key)) toField();
      else if (typing?.what === 'text' && key === 't') {
        event.preventDefault();
        toField();
      }
    };
    addEventListener('keydown', onKey);
    return () => removeEventListener('keydown', onKey);
  });
}
