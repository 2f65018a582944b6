/** A job that is being worked: what to do at the left or on top, what it looks like beside or below. */
import { useState } from 'preact/hooks';
import type { BayScreen, JobPart, QuestionPart } from '../../views/bay-screen';
import { DeckFromAbove } from '../drawings/deck-from-above';
import { WhatToTurn } from '../drawings/what-to-turn';
import { usePreferences } from '../preferences';
import { numberText } from '../units';
import { JobEnd } from './job-end';
import { PutRight } from './put-right';
import { Question, useSteady } from './question';
import { Readings } from './readings';
import { Result } from './result';
import { Stations } from './stations';

export function JobInHand({ screen, job }: { screen: BayScreen; job: JobPart }) {
  const [puttingRight, setPuttingRight] = useState(false);
  const { closed } = job;
  const question = useSteady(job.question);
  return (
    <div class="job">
      <div class="job-head">
        <p>
          <strong>{job.useTitle}</strong> · {job.model}
          {job.serialNumber === '' ? '' : ` · ${job.serialNumber}`} · job {job.job}
        </p>
        <button type="button" class="small" onClick={() => setPuttingRight(true)}>
          More
        </button>
      </div>
      {puttingRight && <PutRight screen={screen} job={job} close={() => setPuttingRight(false)} />}
      <Stations stations={job.track} />
      {closed !== null ? (
        <JobEnd screen={screen} job={job} closed={closed} />
      ) : question === null ? (
        <h1 class="task quiet">One moment…</h1>
      ) : (
        <Working screen={screen} job={job} question={question} />
      )}
    </div>
  );
}

function Working({ screen, job, question }: { screen: BayScreen; job: JobPart; question: QuestionPart }) {
  const [{ units }] = usePreferences();
  return (
    <Question question={question} units={units}>
      {!NEED_NO_PICTURE.includes(question.asks) && <Picture screen={screen} />}
      <Readings readings={job.readings} units={units} />
      {screen.results.slice(-1).map((result) => (
        <Result key={result.title} result={result} units={units} />
      ))}
    </Question>
  );
}

const NEED_NO_PICTURE: readonly QuestionPart['asks'][] = [
  'confirm cautions',
  'state claim',
  'carry over',
  'prepare',
  'expired floor',
];

/** What is to be turned while something is; else the deck from above. */
function Picture({ screen: { pictures } }: { screen: BayScreen }) {
  const [{ units, atFront }, change] = usePreferences();
  const say = (mm: number) => numberText(mm, units);
  if (pictures === null) return null;
  const { turn, plan, marks } = pictures;
  if (turn !== null) return <WhatToTurn turn={turn} plan={plan} fromFront={atFront} say={say} />;
  return (
    <figure class="deck">
      <DeckFromAbove plan={plan} marks={marks} fromFront={atFront} say={say} />
      <figcaption>
        <span>Left and right are as seated.</span>
        <button
          type="button"
          class="small"
          aria-pressed={atFront}
          onClick={() => change({ atFront: !atFront })}
        >
          I stand at the front
        </button>
      </figcaption>
    </figure>
  );
}
