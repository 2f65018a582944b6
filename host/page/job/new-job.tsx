/** The beginning of a job: what for, which machine, and the numbers that a scanner types. */
import { useEffect, useState } from 'preact/hooks';
import type { BayPart } from '../../views/bay-screen';
import type { MachineProfile } from '../../machines/profile';
import type { Use } from '../../ledger/events';
import { Refusal } from '../refusal';
import { ask, send, type Refused } from '../send';

const USES: readonly (readonly [Use, string])[] = [
  ['inspection', 'Inspection'],
  ['levelling', 'Levelling'],
  ['diagnosis', 'Diagnosis'],
  ['warranty', 'Warranty'],
];

export function NewJob({ bay }: { bay: BayPart }) {
  const [machines, setMachines] = useState<readonly MachineProfile[]>([]);
  const [refused, setRefused] = useState<Refused>();
  const [order, setOrder] = useState({
    use: 'levelling' as Use,
    model: '',
    serialNumber: '',
    workOrder: '',
    technician: '',
  });
  useEffect(() => {
    void ask<readonly MachineProfile[]>('/api/machines').then((result) => {
      if ('reply' in result) setMachines(result.reply);
      else setRefused(result.refused);
    });
  }, []);
  const set = (part: Partial<typeof order>) => setOrder({ ...order, ...part });
  const begin = async () => {
    const result = await send('/api/job/open', order);
    setRefused('refused' in result ? result.refused : undefined);
  };
  return (
    <form
      class="new-job"
      onSubmit={(event) => {
        event.preventDefault();
        void begin();
      }}
    >
      <h1>New job</h1>
      {bay.openJobs.map(({ job, model, useTitle, serialNumber }) => (
        <button type="button" onClick={() => void send('/api/job/resume', { job })}>
          Go on with job {job}: {useTitle}, {model} {serialNumber}
        </button>
      ))}
      <fieldset>
        <legend>What for</legend>
        {USES.map(([use, title]) => (
          <label>
            <input type="radio" name="use" checked={order.use === use} onChange={() => set({ use })} />
            {title}
          </label>
        ))}
      </fieldset>
      <label>
        Machine
        <select value={order.model} onChange={(e) => set({ model: e.currentTarget.value })} required>
          <option value="">Choose</option>
          {machines.map(({ model }) => (
            <option value={model}>{model}</option>
          ))}
        </select>
      </label>
      <label>
        Serial number
        <input value={order.serialNumber} onInput={(e) => set({ serialNumber: e.currentTarget.value })} />
      </label>
      <button type="submit" class="main">
        Begin
      </button>
      <Refusal refused={refused} />
    </form>
  );
}
