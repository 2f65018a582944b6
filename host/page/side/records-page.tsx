/** The records of this bay: searched, looked at, taken away as a sheet. */
import { useState } from 'preact/hooks';
import type { RecordEntry, RecordPart } from '../../views/record-part';
import { VerdictMark } from '../drawings/before-after';
import { DeckFromAbove } from '../drawings/deck-from-above';
import { ResultMark } from '../drawings/result-mark';
import { ResultPictures } from '../drawings/result-pictures';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import type { PageProps } from '../routes';
import { lengthText, numberText, sentence } from '../units';
import { useAsked } from './asked';
import { Facts } from './machines-page';
import { HistoryPage } from './history-page';
import './side.css';

export function RecordsPage({ rest: [job, of, name] }: PageProps) {
  if (job === undefined) return <Search />;
  if (job === 'history' && of !== undefined && name !== undefined) return <HistoryPage of={of} name={name} />;
  return <OneRecord job={job} />;
}

const DAYS = [
  ['from', 'From'],
  ['to', 'To'],
] as const;

function Search() {
  const [query, setQuery] = useState<Readonly<Record<string, string>>>({});
  const given = Object.entries(query).filter(([, text]) => text.trim() !== '');
  const { reply: entries, refused } = useAsked<readonly RecordEntry[]>(
    `/api/records?${new URLSearchParams(given).toString()}`,
  );
  return (
    <div class="side">
      <h1>Records</h1>
      <form class="search" role="search" onSubmit={(event) => event.preventDefault()}>
        <div class="field wide">
          <label for="search-text">Serial number, model, technician, work order or anything noted</label>
          <input
            id="search-text"
            type="search"
            value={query.text ?? ''}
            autocomplete="off"
            onInput={(event) => setQuery({ ...query, text: event.currentTarget.value })}
          />
        </div>
        {DAYS.map(([name, label]) => (
          <div class="field" key={name}>
            <label for={`search-${name}`}>{label}</label>
            <input
              id={`search-${name}`}
              type="date"
              value={query[name] ?? ''}
              onInput={(event) => setQuery({ ...query, [name]: event.currentTarget.value })}
            />
          </div>
        ))}
      </form>
      <Refusal refused={refused} />
      <p role="status" class="quiet">
        {entries === undefined ? '' : `${entries.length} ${entries.length === 1 ? 'job' : 'jobs'}`}
      </p>
      {entries !== undefined && entries.length > 0 && (
        <ul class="entries">
          {entries.map((entry) => (
            <li key={entry.job}>
              <a class="entry" href={`#/records/${entry.job}`}>
                <strong>
                  {entry.serialNumber || 'no serial number'} · {entry.model}
                </strong>
                <span>
                  job {entry.job} · {entry.at.slice(0, 10)} · {entry.use} · {entry.technicians.join(', ')}
                </span>
                <span class={`verdict-word ${entry.decision ?? 'open'}`}>
                  <VerdictMark decision={entry.decision ?? null} />
                  {WORDS[entry.decision ?? 'open']}
                </span>
              </a>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

const WORDS = { pass: 'pass', fail: 'fail', undecided: 'can’t tell yet', open: 'open' } as const;

function OneRecord({ job }: { job: string }) {
  const { reply: record, refused } = useAsked<RecordPart>(`/api/records/${encodeURIComponent(job)}`);
  return (
    <div class="side">
      <h1>Job {job}</h1>
      <Refusal refused={refused} />
      {record !== undefined && <Shown record={record} />}
    </div>
  );
}

function Shown({ record }: { record: RecordPart }) {
  const [{ units, atFront }] = usePreferences();
  const say = (mm: number) => numberText(mm, units);
  const last = record.results.at(-1);
  return (
    <>
      {record.simulated && <p class="label-tag">simulated shop: no real measurement</p>}
      <div class="halves">
        <div>
          {last !== undefined && (
            <ResultMark {...last} decision={record.decision ?? last.decision} word={record.word} />
          )}
          {record.caps.map((cap) => (
            <p key={cap}>{sentence(cap, units)}</p>
          ))}
          <Facts facts={record.facts} />
          <div class="deeds">
            <a class="button main" href={`/api/job/${record.job}/sheet.pdf`} download>
              Delivery sheet (PDF)
            </a>
            <a class="button" href={`/api/job/${record.job}/record.pdf`} download>
              Full record (PDF)
            </a>
            <a class="button" href={`/api/job/${record.job}/record.json`} download>
              The same as data (JSON)
            </a>
            {record.histories.map(({ of, name }) => (
              <a
                class="button"
                key={of + name}
                href={`#/records/history/${encodeURIComponent(of)}/${encodeURIComponent(name)}`}
              >
                History of {of} {name}
              </a>
            ))}
            <a class="button" href="#/records">
              All records
            </a>
          </div>
        </div>
        <div class="picture">
          <DeckFromAbove plan={record.plan} marks={record.marks} fromFront={atFront} say={say} />
        </div>
      </div>
      <ResultPictures {...record} say={say} />
      <h2>What was done</h2>
      {record.results.map((result) => (
        <section key={result.title}>
          <h3>
            {result.title}: {result.word}, all limits kept with a probability of {result.probabilityText}
          </h3>
          <ul>
            {result.turning.map((line) => (
              <li key={line}>{sentence(line, units)}</li>
            ))}
          </ul>
        </section>
      ))}
      {record.course.length > 0 && (
        <ul>
          {record.course.map((line) => (
            <li key={line}>{sentence(line, units)}</li>
          ))}
        </ul>
      )}
      <details>
        <summary>All {record.readings.length} readings</summary>
        <table>
          <thead>
            <tr>
              <th scope="col">Of</th>
              <th scope="col">Height</th>
              <th scope="col">With</th>
            </tr>
          </thead>
          <tbody>
            {record.readings.map((r, i) => (
              <tr key={i}>
                <td>{r.text}</td>
                <td>{lengthText(r.heightMm, units, 2)}</td>
                <td>
                  {r.by}
                  {r.setAside === null ? '' : `; set aside: ${r.setAside}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
        <ul>
          {record.fixtures.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      </details>
    </>
  );
}
