/** What may be done with a job at any time: mistakes put right by a further entry, hand-over, giving up, leaving it. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { BayScreen, JobPart } from '../../views/bay-screen';
import { Refusal } from '../refusal';
import { send, type Refused } from '../send';

interface Props {
  readonly screen: BayScreen;
  readonly job: JobPart;
  readonly close: () => void;
}

const KINDS = [
  ['set aside', 'A reading does not count'],
  ['restored', 'A reading that was set aside counts again'],
  ['tip corrected', 'A reading was of another tip'],
  ['turn corrected', 'Something else was turned than was said'],
  ['prepared', 'Another answer to an item'],
  ['claim stated', 'Another text for the claim'],
  ['handed over', 'Hand the job over'],
  ['fixture accounted for', 'A fixture is off the machine, in my hand'],
  ['given up', 'Give the job up'],
  ['job reopened', 'Open the job again'],
] as const;
type Kind = (typeof KINDS)[number][0];

export function PutRight({ screen, job, close }: Props) {
  const dialog = useRef<HTMLDialogElement>(null);
  const [kind, setKind] = useState<Kind | ''>('');
  const [refused, setRefused] = useState<Refused>();
  useEffect(() => {
    dialog.current?.showModal();
  }, []);
  const tell = async (result: ReturnType<typeof send>) => {
    const told = await result;
    if ('refused' in told) setRefused(told.refused);
    else close();
  };
  const put = (form: HTMLFormElement) => {
    const said = Object.fromEntries(
      [...new FormData(form)].flatMap(([name, value]) => (typeof value === 'string' ? [[name, value]] : [])),
    ) as Record<string, string>;
    return tell(
      send('/api/job/correct', { job: job.job, correction: correctionOf(kind as Kind, said, screen) }),
    );
  };
  const kinds = KINDS.filter(([k]) => (k === 'job reopened') === (job.closed !== null));
  return (
    <dialog ref={dialog} class="put-right" aria-label="Put right, hand over, leave" onClose={close}>
      <h2>Job {job.job}</h2>
      {job.closed === null && (
        <button type="button" onClick={() => void tell(send('/api/job/leave', {}))}>
          Lay it aside: it stays open
        </button>
      )}
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void put(event.currentTarget);
        }}
      >
        <label class="field">
          <span>Put right or write down</span>
          <select value={kind} onChange={(event) => setKind(event.currentTarget.value as Kind)}>
            <option value="">Choose</option>
            {kinds.map(([value, title]) => (
              <option value={value}>{title}</option>
            ))}
          </select>
        </label>
        {kind !== '' && <Fields key={kind} kind={kind} screen={screen} job={job} />}
        {kind !== '' && (
          <button type="submit" class="main">
            Write it down
          </button>
        )}
      </form>
      <Refusal refused={refused} />
      <button type="button" onClick={close}>
        Back to the job
      </button>
    </dialog>
  );
}

function Fields({ kind, screen, job }: { kind: Kind; screen: BayScreen; job: JobPart }) {
  const readings = job.readings
    .map((r, i) => ({ value: `${i}`, text: `${r.number}: ${r.text}`, reading: r }))
    .filter(({ reading }) => kind !== 'restored' || reading.setAside !== null);
  const spindles = screen.machine?.spindles.map((s) => s.name) ?? [];
  switch (kind) {
    case 'set aside':
    case 'restored':
      return (
        <>
          <Choice name="reading" title="Which reading" options={readings} />
          <Text name="reason" title="Why" />
        </>
      );
    case 'tip corrected':
      return (
        <>
          <Choice name="reading" title="Which reading" options={readings} />
          <Choice name="spindle" title="It was of the blade" options={spindles.map(plain)} />
          <Choice name="end" title="End" options={['A', 'B'].map(plain)} />
          <Choice
            name="headingDeg"
            title="It pointed"
            options={[
              { value: '0', text: 'forward' },
              { value: '90', text: 'left' },
              { value: '180', text: 'rearward' },
              { value: '-90', text: 'right' },
            ]}
          />
        </>
      );
    case 'turn corrected':
      return (
        <>
          <Choice
            name="adjuster"
            title="Which adjuster"
            options={(screen.machine?.adjusters ?? []).map((a) => plain(a.name))}
          />
          <Text name="turns" title="Turns since the last readings, raising positive" />
        </>
      );
    case 'prepared':
      return (
        <>
          <Choice
            name="item"
            title="Which item"
            options={job.answered.map(({ item, text, answer }) => ({
              value: item,
              text: `${text}: ${answer}`,
            }))}
          />
          <Text name="answer" title="Answer: yes, no, not on this machine, a number, or a note" />
        </>
      );
    case 'claim stated':
      return (
        <>
          <Choice
            name="field"
            title="Which field"
            options={job.claim.map(({ field, text }) => ({ value: field, text: `${field}: ${text}` }))}
          />
          <Text name="text" title="Text" />
        </>
      );
    case 'handed over':
      return <Text name="to" title="To whom" />;
    case 'fixture accounted for':
      return (
        <>
          <Choice
            name="fixtureId"
            title="Which fixture"
            options={screen.bay.fixtures.map((f) => plain(f.fixtureId))}
          />
          <Text name="by" title="Who has it in hand" />
          <Text name="reason" title="Why there is no closing reading" />
        </>
      );
    case 'given up':
      return <Text name="reason" title="Why" />;
    case 'job reopened':
      return (
        <>
          <Text name="by" title="Who opens it" />
          <Text name="reason" title="Why" />
          <label class="tick">
            <input type="checkbox" name="toReadAgain" value="yes" />
            <span>The machine is back in a bay and is read once more</span>
          </label>
        </>
      );
  }
}

/** What the fields say, in the form that the server reads. */
function correctionOf(kind: Kind, said: Record<string, string>, { job }: BayScreen): object {
  const { reading: at, toReadAgain, ...rest } = said;
  const reading = at === undefined ? undefined : job?.readings[Number(at)];
  return {
    what: kind,
    ...rest,
    ...(reading === undefined ? {} : { fixtureId: reading.fixtureId, capture: reading.number }),
    ...(said['headingDeg'] === undefined ? {} : { headingDeg: Number(said['headingDeg']) }),
    ...(said['turns'] === undefined ? {} : { turns: Number(said['turns'].replace(',', '.')) }),
    ...(said['answer'] === undefined ? {} : { answer: answerOf(said['answer']) }),
    ...(toReadAgain === undefined ? {} : { toReadAgain: true }),
  };
}

function answerOf(text: string): unknown {
  const plainText = text.trim();
  if (['yes', 'no', 'not on this machine'].includes(plainText)) return plainText;
  const number = Number(plainText.replace(',', '.'));
  return plainText !== '' && Number.isFinite(number) ? number : { noted: plainText };
}

function plain(text: string) {
  return { value: text, text };
}

interface ChoiceProps {
  readonly name: string;
  readonly title: string;
  readonly options: readonly { readonly value: string; readonly text: string }[];
}

function Choice({ name, title, options }: ChoiceProps) {
  return (
    <label class="field">
      <span>{title}</span>
      <select name={name} required>
        {options.map(({ value, text }) => (
          <option value={value}>{text}</option>
        ))}
      </select>
    </label>
  );
}

function Text({ name, title }: { name: string; title: string }) {
  return (
    <label class="field">
      <span>{title}</span>
      <input name={name} required maxLength={2000} autocomplete="off" />
    </label>
  );
}
