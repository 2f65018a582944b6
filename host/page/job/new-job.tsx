/** The beginning of a job: what for, which machine, and the numbers that a scanner types, each ended by Enter. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { Use } from '../../ledger/events';
import type { MachineProfile } from '../../machines/profile';
import type { BayPart } from '../../views/bay-screen';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { ask, send, type Refused } from '../send';
import { lengthText } from '../units';

const USES: readonly (readonly [use: Use, title: string, what: string])[] = [
  ['inspection', 'Inspection', 'before delivery: pass or fail'],
  ['levelling', 'Levelling', 'read, turn, read again, tighten, confirm'],
  ['diagnosis', 'Diagnosis', 'which part is at fault, and by how much'],
  ['warranty', 'Warranty', 'complaint, cause, correction, all readings'],
];

/** U (k = 2) of a height read with a ruler on one's knees: common practice, no source. */
const RULER_MM = 1.5;
const EMPTY = {
  use: 'levelling' as Use,
  model: '',
  serialNumber: '',
  workOrder: '',
  technician: '',
  badge: '',
  batch: false,
  everyTip: false,
  ruler: false,
};

export function NewJob({ bay }: { bay: BayPart }) {
  const [{ units }] = usePreferences();
  const [machines, setMachines] = useState<readonly MachineProfile[]>([]);
  const [refused, setRefused] = useState<Refused>();
  const [order, setOrder] = useState(EMPTY);
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => {
    void ask<readonly MachineProfile[]>('/api/machines').then((result) => {
      if ('reply' in result) setMachines(result.reply);
      else setRefused(result.refused);
    });
  }, []);
  const set = (part: Partial<typeof order>) => setOrder((before) => ({ ...before, ...part }));
  const tell = async (result: ReturnType<typeof send>) => {
    const told = await result;
    setRefused('refused' in told ? told.refused : undefined);
  };
  const begin = () => {
    const { everyTip, ruler, badge, ...rest } = order;
    return tell(
      send('/api/job/open', {
        ...rest,
        ...(badge === '' ? {} : { badge }),
        ...(everyTip ? { sequence: 'full' } : {}),
        ...(ruler ? { rulerMm: RULER_MM } : {}),
      }),
    );
  };
  /** Enter goes on to the next field, and begins the job from the last. */
  const onEnter = (event: KeyboardEvent) => {
    if (event.key !== 'Enter' || !(event.target instanceof HTMLInputElement)) return;
    const fields = [...(form.current?.querySelectorAll<HTMLInputElement>('input.scanned') ?? [])];
    const next = fields[fields.indexOf(event.target) + 1];
    if (!fields.includes(event.target) || next === undefined) return;
    event.preventDefault();
    next.focus();
  };
  const scanned = (key: 'serialNumber' | 'workOrder' | 'technician' | 'badge', title: string) => (
    <label class="field">
      <span>{title}</span>
      <input
        class="scanned"
        {...(key === 'badge' ? { type: 'password' } : {})}
        autocomplete="off"
        maxLength={200}
        value={order[key]}
        onInput={(event) => set({ [key]: event.currentTarget.value })}
      />
    </label>
  );
  const ticked = (key: 'batch' | 'everyTip' | 'ruler', title: string) => (
    <label class="tick">
      <input type="checkbox" checked={order[key]} onChange={() => set({ [key]: !order[key] })} />
      <span>{title}</span>
    </label>
  );
  return (
    <>
      <OpenJobs bay={bay} resume={(job) => void tell(send('/api/job/resume', { job }))} />
      <form
        class="new-job"
        ref={form}
        onKeyDown={onEnter}
        onSubmit={(event) => {
          event.preventDefault();
          void begin();
        }}
      >
        <h1>New job</h1>
        <fieldset class="uses">
          <legend>What for</legend>
          {USES.map(([use, title, what]) => (
            <label class="card" key={use}>
              <input type="radio" name="use" checked={order.use === use} onChange={() => set({ use })} />
              <span>
                <strong>{title}</strong>
                <small>{what}</small>
              </span>
            </label>
          ))}
        </fieldset>
        <fieldset class="machines">
          <legend>Which machine</legend>
          {machines.map(({ model, family, spindles, cutHeightMm, invented }) => (
            <label class="card" key={model}>
              <input
                type="radio"
                name="model"
                required
                checked={order.model === model}
                onChange={() => set({ model })}
              />
              <span>
                <strong>{model}</strong>
                <small>
                  {spindles.length} {spindles.length === 1 ? 'spindle' : 'spindles'}, {family}, cuts at{' '}
                  {lengthText(cutHeightMm, units, 0)}
                  {invented ? ', invented' : ''}
                </small>
              </span>
            </label>
          ))}
          <a class="card" href="#/machines">
            <span>
              <strong>Another one</strong>
              <small>from five things taken with a tape</small>
            </span>
          </a>
        </fieldset>
        <fieldset class="numbers">
          <legend>Whose, and by whom</legend>
          {scanned('serialNumber', 'Serial number')}
          {scanned('workOrder', 'Work order')}
          {scanned('technician', 'Technician')}
          {scanned('badge', 'Badge or PIN, in place of the name')}
        </fieldset>
        <fieldset class="ticks">
          <legend>Besides</legend>
          {ticked('batch', 'A batch: one machine of this model after the other')}
          {ticked('everyTip', 'Read every tip')}
          {ticked('ruler', 'No fixture: heights are read with a ruler')}
        </fieldset>
        <div class="actions">
          <Refusal refused={refused} />
          <button type="submit" class="main">
            Begin
          </button>
        </div>
      </form>
    </>
  );
}

function OpenJobs({ bay, resume }: { bay: BayPart; resume: (job: number) => void }) {
  if (bay.openJobs.length === 0) return null;
  return (
    <section class="open-jobs" aria-label="Jobs that are open">
      <h2>Open jobs</h2>
      {bay.openJobs.toReversed().map(({ job, model, useTitle, serialNumber, onBlade }) => (
        <button type="button" key={job} onClick={() => resume(job)}>
          <strong>Go on with job {job}</strong>
          <small>
            {useTitle}, {model} {serialNumber}
            {onBlade ? ' · fixture on blade' : ''}
          </small>
        </button>
      ))}
    </section>
  );
}
