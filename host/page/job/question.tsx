/** The one thing to do, in large type, and every way to answer it. */
import { useState } from 'preact/hooks';
import type { QuestionPart } from '../../views/bay-screen';
import type { Units } from '../preferences';
import { Refusal } from '../refusal';
import { send, type Refused } from '../send';
import { sentence } from '../units';

export function QuestionCard({ question, units }: { question: QuestionPart; units: Units }) {
  const [refused, setRefused] = useState<Refused>();
  const [typed, setTyped] = useState('');
  const { n, words, choices, typing, busy } = question;
  const answer = async (said: object) => {
    const result = await send('/api/job/answer', { question: n, said });
    setRefused('refused' in result ? result.refused : undefined);
    setTyped('');
  };
  return (
    <section class="question" aria-label="What to do now" data-asks={question.asks} data-n={n}>
      <h1 class="task">{sentence(words.say, units)}</h1>
      {words.aside !== undefined && <p class="aside">{sentence(words.aside, units)}</p>}
      {words.list !== undefined && (
        <ul>
          {words.list.map((line) => (
            <li>{sentence(line, units)}</li>
          ))}
        </ul>
      )}
      {words.then !== undefined && <p>{words.then}</p>}
      {busy !== null && <p class="busy">{busy}…</p>}
      {typing !== null && busy === null && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void answer(
              typing.what === 'number' ? { number: Number(typed.replace(',', '.')) } : { text: typed },
            );
          }}
        >
          <label>
            {typing.what === 'number' ? `Number in ${typing.unit}` : typing.prompt}
            <input value={typed} onInput={(event) => setTyped(event.currentTarget.value)} />
          </label>
          <button type="submit">Enter</button>
        </form>
      )}
      {busy === null && (
        <div class="choices">
          {choices.map(({ text, keys }, way) => (
            <button
              type="button"
              class={keys.includes('return') ? 'main' : ''}
              onClick={() => void answer({ way })}
            >
              {sentence(text, units)}
            </button>
          ))}
        </div>
      )}
      <Refusal refused={refused} />
    </section>
  );
}
