/** A check or study being taken: one step at a time, and at the end what it showed. */
import { useEffect } from 'preact/hooks';
import type { SessionPart } from '../../views/session-part';
import { ChartDrawing } from '../drawings/chart';
import { LiveHeight } from '../job/live-height';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { send } from '../send';
import { lengthText, sentence } from '../units';

export function SessionCard({ session }: { session: SessionPart }) {
  const [{ units }] = usePreferences();
  const { title, question, step, of, readings, trouble, done } = session;
  return (
    <section class="session" aria-label={title}>
      <h2>
        {title}
        {done === null && of > 0 ? `: ${step} of ${of}` : ''}
      </h2>
      {done === null && of > 0 && <progress value={readings.length} max={of} aria-label="How far it is" />}
      {trouble !== null && (
        <>
          <Refusal refused={trouble} />
          <div class="deeds">
            <button type="button" class="main" onClick={() => void send('/api/session/go-on', {})}>
              Try again
            </button>
          </div>
        </>
      )}
      {question !== null && <Step question={question} />}
      {question === null && trouble === null && done === null && <p>One moment…</p>}
      {question?.live === true && <LiveHeight units={units} />}
      {done !== null && <Done session={session} />}
      <div class="deeds">
        <button type="button" onClick={() => void send('/api/session/leave', {})}>
          {done === null ? 'Lay it aside: what was read is kept' : 'Put it away'}
        </button>
      </div>
      {readings.length > 0 && (
        <ol class="taken">
          {readings.map((r, i) => (
            <li key={i}>
              {sentence(r.text, units)}: <strong>{lengthText(r.heightMm, units, 2)}</strong>
            </li>
          ))}
        </ol>
      )}
    </section>
  );
}

/** Answered by touch, or by one key wherever the focus is. */
function Step({ question }: { question: NonNullable<SessionPart['question']> }) {
  const [{ units }] = usePreferences();
  const { n, words, choices, busy } = question;
  const answer = (way: number) => void send('/api/job/answer', { question: n, said: { way } });
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || busy !== null) return;
      const at = event.target instanceof Element ? event.target : document.body;
      if (at.closest('input, select, textarea, button, a, summary') !== null) return;
      const key = event.key === ' ' || event.key === 'Enter' ? 'return' : event.key.toLowerCase();
      const way = choices.findIndex(({ keys }) => keys.includes(key));
      if (way < 0) return;
      event.preventDefault();
      answer(way);
    };
    addEventListener('keydown', onKey);
    return () => removeEventListener('keydown', onKey);
  });
  return (
    <div class="step" data-n={n} data-busy={busy !== null}>
      <p class="say" role="status">
        {sentence(words.say, units)}
      </p>
      {busy !== null ? (
        <p class="quiet">{busy}…</p>
      ) : (
        <div class="deeds">
          {choices.map(({ text, keys }, way) => (
            <button
              key={text}
              type="button"
              class={keys.includes('return') ? 'main' : ''}
              onClick={() => answer(way)}
            >
              {text} <kbd>{keys.includes('return') ? 'space' : keys[0]}</kbd>
            </button>
          ))}
        </div>
      )}
    </div>
  );
}

function Done({ session }: { session: SessionPart }) {
  const [{ units }] = usePreferences();
  const { done } = session;
  if (done === null) return null;
  return (
    <div class="done">
      <p class={`state ${done.isGood ? 'good' : 'bad'}`}>
        <strong>
          {done.isGood ? '✓' : '✗'} {done.title}
        </strong>
      </p>
      {done.sentences.map((line) => (
        <p key={line}>{sentence(line, units)}</p>
      ))}
      <div class="pictures">
        {done.charts.map((chart) => (
          <ChartDrawing key={chart.title} chart={chart} />
        ))}
      </div>
      {done.tables.map((table) => (
        <div class="scrolls" key={table.title} tabIndex={0} role="region" aria-label={table.title}>
          <table>
            <caption>{table.title}</caption>
            <thead>
              <tr>
                {table.head.map((h, i) => (
                  <th scope="col" key={i}>
                    {h}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {table.rows.map((row, i) => (
                <tr key={i}>
                  {row.map((cell, k) => (
                    <td key={k}>{cell}</td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      ))}
    </div>
  );
}
