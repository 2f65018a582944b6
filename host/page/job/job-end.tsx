/** A job that is closed: the result it ended with, before and after, the sheet, and what comes next. */
import { useState } from 'preact/hooks';
import type { Decision } from '../../ledger/events';
import type { BayScreen, JobPart } from '../../views/bay-screen';
import { ResultPictures } from '../drawings/result-pictures';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { send, type Refused } from '../send';
import { numberText, sentence } from '../units';
import { Result } from './result';

/** What comes next where nothing else is said. */
const NEXT: Record<Decision, string> = {
  pass: 'Deliver it, with its sheet.',
  fail: 'Do not deliver it like this: level it, or mend what is named below.',
  undecided: 'Not decided: do not deliver it as passed.',
};

interface Props {
  readonly screen: BayScreen;
  readonly job: JobPart;
  readonly closed: NonNullable<JobPart['closed']>;
}

export function JobEnd({ screen, job, closed }: Props) {
  const [{ units }] = usePreferences();
  const { results, pictures } = screen;
  const { decision } = closed;
  const last = results.at(-1);
  const before = results.length > 1 ? results[0] : undefined;
  return (
    <div class="end">
      <div class="end-head">
        <p class="aside">Job {job.job} is closed</p>
        <h1 class={`closed ${decision}`}>{closed.word}</h1>
        {job.caps.length > 0 && (
          <ul class="remarks">
            {job.caps.map((cap) => (
              <li>{sentence(cap, units)}</li>
            ))}
          </ul>
        )}
        <p class="advice">
          {job.advice === null ? NEXT[decision] : `To settle it: ${sentence(job.advice, units)}`}
        </p>
        <div class="actions">
          <div class="choices">
            <a class="button main" href={`/api/job/${job.job}/sheet.pdf`} download>
              Save the sheet (PDF)
            </a>
            {job.isBatch ? <NextOfBatch /> : <NewJobButton />}
          </div>
        </div>
      </div>
      {last !== undefined && <Result result={last} units={units} />}
      <ResultPictures
        comparison={pictures?.comparison ?? null}
        side={pictures?.side ?? null}
        swath={last?.swath ?? null}
        swathBefore={before?.swath ?? null}
        skirtGap={last?.skirtGap ?? null}
        say={(mm) => numberText(mm, units)}
      />
    </div>
  );
}

function NewJobButton() {
  return (
    <button type="button" onClick={() => void send('/api/job/leave', {})}>
      New job
    </button>
  );
}

/** A scanner types the number and Enter. */
function NextOfBatch() {
  const [serialNumber, setSerial] = useState('');
  const [refused, setRefused] = useState<Refused>();
  const next = async () => {
    const result = await send('/api/job/next', { serialNumber });
    setRefused('refused' in result ? result.refused : undefined);
  };
  return (
    <>
      <form
        class="typing"
        onSubmit={(event) => {
          event.preventDefault();
          void next();
        }}
      >
        <label>
          <span>Next machine of the batch: its serial number</span>
          <input
            value={serialNumber}
            autocomplete="off"
            required
            onInput={(event) => setSerial(event.currentTarget.value)}
          />
        </label>
        <button type="submit">Go on</button>
      </form>
      <button type="button" onClick={() => void send('/api/job/leave', {})}>
        The batch is done
      </button>
      <Refusal refused={refused} />
    </>
  );
}
