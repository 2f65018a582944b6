/** The machines of this shop: choose one to look at, make one from a tape, take one in from a file. */
import { useState } from 'preact/hooks';
import type { MachineProfile } from '../../machines/profile';
import type { DeckPlan } from '../../views/deck-plan';
import { DeckFromAbove } from '../drawings/deck-from-above';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import type { PageProps } from '../routes';
import { send, type Refused } from '../send';
import { lengthText, numberText } from '../units';
import { useAsked } from './asked';
import { MachineForm } from './machine-form';
import './side.css';

export function MachinesPage({ rest: [place, model] }: PageProps) {
  if (place === 'new') return <MachineForm />;
  return place === 'of' && model !== undefined ? <Machine model={model} /> : <List />;
}

function List() {
  const { reply: machines = [], refused } = useAsked<readonly MachineProfile[]>('/api/machines');
  return (
    <div class="side">
      <h1>Machines</h1>
      <div class="deeds">
        <a class="button main" href="#/machines/new">
          Make one from a tape
        </a>
        <TakeIn />
      </div>
      <Refusal refused={refused} />
      <ul class="entries">
        {machines.map(({ model, family, spindles, invented }) => (
          <li key={model}>
            <a class="entry" href={`#/machines/of/${encodeURIComponent(model)}`}>
              <strong>{model}</strong>
              <span>
                {spindles.length} {spindles.length === 1 ? 'blade' : 'blades'}, {family}
              </span>
              {invented && <span class="label-tag">invented</span>}
            </a>
          </li>
        ))}
      </ul>
    </div>
  );
}

/** A profile from a file: checked by the server, with every fault named. */
function TakeIn() {
  const [refused, setRefused] = useState<Refused>();
  const take = async (file: File) => {
    const result = await send<{ model: string }>('/api/machines/import', {
      text: await file.text(),
      name: file.name,
    });
    if ('reply' in result) location.hash = `#/machines/of/${encodeURIComponent(result.reply.model)}`;
    else setRefused(result.refused);
  };
  return (
    <>
      <label class="button file">
        Take one in from a file
        <input
          type="file"
          accept=".json,application/json"
          onChange={(event) => {
            const [file] = event.currentTarget.files ?? [];
            if (file !== undefined) void take(file);
            event.currentTarget.value = '';
          }}
        />
      </label>
      <Refusal refused={refused} />
    </>
  );
}

function Machine({ model }: { model: string }) {
  const path = `/api/machines/${encodeURIComponent(model)}`;
  const { reply, refused } = useAsked<{ profile: MachineProfile; plan: DeckPlan }>(path);
  const [{ units, atFront }] = usePreferences();
  return (
    <div class="side">
      <h1>{model}</h1>
      <Refusal refused={refused} />
      {reply !== undefined && (
        <div class="halves">
          <div class="picture">
            <DeckFromAbove plan={reply.plan} fromFront={atFront} say={(mm) => numberText(mm, units)} />
          </div>
          <div>
            <Facts
              facts={[
                ['deck', reply.profile.family],
                ['ground plane', reply.profile.groundPlane],
                ['blades', `${reply.profile.spindles.length}, ${reply.profile.bladeKind}`],
                ['cut height', lengthText(reply.profile.cutHeightMm, units)],
                ...(reply.profile.invented ? ([['', 'an invented machine']] as const) : []),
              ]}
            />
            <h2>Measures and limits</h2>
            <table>
              <thead>
                <tr>
                  <th scope="col">Measure</th>
                  <th scope="col">Limits</th>
                  <th scope="col">Aim</th>
                  <th scope="col">From</th>
                </tr>
              </thead>
              <tbody>
                {reply.profile.measures.map((m) => (
                  <tr key={m.name}>
                    <th scope="row">{m.name}</th>
                    <td>
                      {numberText(m.lowerMm, units)} to {lengthText(m.upperMm, units)}
                    </td>
                    <td>{numberText(m.targetMm, units)}</td>
                    <td>{m.source}</td>
                  </tr>
                ))}
              </tbody>
            </table>
            <div class="deeds">
              <a class="button" href={`${path}/profile.json`} download>
                Save its profile as a file
              </a>
              <a class="button" href="#/machines">
                All machines
              </a>
            </div>
          </div>
        </div>
      )}
    </div>
  );
}

export function Facts({ facts }: { facts: readonly (readonly [name: string, value: string])[] }) {
  return (
    <dl class="facts">
      {facts.map(([name, value]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{value}</dd>
        </div>
      ))}
    </dl>
  );
}
