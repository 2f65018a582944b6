/** A check, study or calibration being taken: one step at a time, and at the end what it showed. */
import { useState } from 'preact/hooks';
import type { SessionPart } from '../../views/session-part';
import { ChartDrawing } from '../drawings/chart';
import { Question, useSteady } from '../job/question';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { send, type Refused } from '../send';
import { lengthText, sentence } from '../units';

export function SessionCard({ session }: { session: SessionPart }) {
  const [{ units }] = usePreferences();
  const { title, of, readings, trouble, done } = session;
  const asked = useSteady(session.question);
  const question = trouble === null && done === null ? asked : null;
  return (
    <section class="session" aria-label={title}>
      <p class="job-head">
        <strong>{title}</strong>
        {done === null && of > 0 && <progress value={readings.length} max={of} aria-label="How far it is" />}
      </p>
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
      {question !== null && (
        <Question question={question} units={units}>
          <Taken session={session} />
        </Question>
      )}
      {question === null && trouble === null && done === null && <h1 class="task quiet">One moment…</h1>}
      {done !== null && (
        <>
          <Done session={session} />
          <Taken session={session} />
        </>
      )}
      <div class="deeds">
        <button type="button" onClick={() => void send('/api/session/leave', {})}>
          {done === null ? 'Lay it aside: what was read is kept' : 'Put it away'}
        </button>
      </div>
    </section>
  );
}

/** A study says how alike clampings are; it counts once somebody stands for it. */
function Accepting() {
  const [refused, setRefused] = useState<Refused>();
  const accept = async () => {
    const result = await send('/api/session/accept', {});
    setRefused('refused' in result ? result.refused : undefined);
  };
  return (
    <div class="deeds">
      <Refusal refused={refused} />
      <button type="button" class="main" onClick={() => void accept()}>
        Accept it: jobs count with it from now on
      </button>
    </div>
  );
}

/** Newest first: that is the one to be looked at. */
function Taken({ session: { readings } }: { session: SessionPart }) {
  const [{ units }] = usePreferences();
  if (readings.length === 0) return null;
  return (
    <ol class="taken" reversed>
      {readings.toReversed().map((r, i) => (
        <li key={readings.length - i}>
          {sentence(r.text, units)}: <strong>{lengthText(r.heightMm, units, 2)}</strong>
        </li>
      ))}
    </ol>
  );
}

function Done({ session }: { session: SessionPart }) {
  const [{ units }] = usePreferences();
  const { done } = session;
  if (done === null) return null;
  return (
    <div class="done">
      <h1 class={`state ${done.isGood ? 'good' : 'bad'}`}>
        {done.isGood ? '✓' : '✗'} {done.title}
      </h1>
      {done.sentences.map((line) => (
        <p key={line}>{sentence(line, units)}</p>
      ))}
      {done.mayAccept === true && <Accepting />}
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
