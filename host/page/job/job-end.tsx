/** A job that is closed: the result it ended with, before and after, the sheet, and what comes next. */
import { useState } from 'preact/hooks';
import type { BayScreen, JobPart } from '../../views/bay-screen';
import { BeforeAfter } from '../drawings/before-after';
import { SideView } from '../drawings/side-view';
import { SkirtOutline } from '../drawings/skirt-outline';
import { SwathProfile } from '../drawings/swath-profile';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { send, type Refused } from '../send';
import { numberText, sentence } from '../units';
import { Result } from './result';

export function JobEnd({ screen, job }: { screen: BayScreen; job: JobPart }) {
  const [{ units }] = usePreferences();
  const { results, pictures } = screen;
  const last = results.at(-1);
  const before = results.length > 1 ? results[0] : undefined;
  const { comparison = null, side = null } = pictures ?? {};
  const { swath = null, skirtGap = null } = last ?? {};
  const swathBefore = before?.swath ?? null;
  const say = (mm: number) => numberText(mm, units);
  return (
    <div class="end">
      <div class="end-head">
        <p class="aside">Job {job.job} is closed</p>
        <h1 class={`closed ${job.closed?.decision ?? ''}`}>Deliver: {job.closed?.word}</h1>
        {job.caps.length > 0 && (
          <ul class="remarks">
            {job.caps.map((cap) => (
              <li>{sentence(cap, units)}</li>
            ))}
          </ul>
        )}
        {job.advice !== null && <p class="advice">To settle it: {sentence(job.advice, units)}</p>}
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
      <div class="drawings">
        {comparison !== null && (
          <BeforeAfter
            title={before === undefined ? 'As it is' : 'Before and after'}
            rows={comparison.measures}
            say={say}
          />
        )}
        {side !== null && <SideView picture={side} say={say} />}
        {swath !== null && (
          <SwathProfile now={swath} {...(swathBefore === null ? {} : { before: swathBefore })} say={say} />
        )}
        {skirtGap !== null && <SkirtOutline gap={skirtGap} say={say} />}
      </div>
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
