/** A job that is being worked. */
import type { BayScreen, JobPart } from '../../views/bay-screen';
import { usePreferences } from '../preferences';
import { sentence } from '../units';
import { LiveHeight } from './live-height';
import { QuestionCard } from './question';
import { Readings } from './readings';

export function JobInHand({ screen, job }: { screen: BayScreen; job: JobPart }) {
  const [{ units }] = usePreferences();
  const { question } = job;
  return (
    <div class="job">
      <p class="job-head">
        {job.useTitle} · {job.model} · {job.serialNumber || 'no serial number'} · job {job.job}
      </p>
      <ol class="track" aria-label="How far the job is">
        {job.track.map(({ title, is }) => (
          <li class={is} aria-current={is === 'here' ? 'step' : undefined}>
            {title}
          </li>
        ))}
      </ol>
      {job.closed !== null ? (
        <h1 class="closed">{job.closed}</h1>
      ) : question === null ? (
        <h1 class="task">One moment…</h1>
      ) : (
        <QuestionCard question={question} units={units} />
      )}
      {question?.live === true && <LiveHeight units={units} />}
      <Readings readings={job.readings} units={units} />
      {screen.stages.map((stage) => (
        <p>{sentence(`${stage.stage}: ${stage.decision}`, units)}</p>
      ))}
    </div>
  );
}
