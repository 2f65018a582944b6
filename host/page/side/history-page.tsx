/** The jobs of a machine, a model, a technician or a fixture, side by side: trends, and what has changed since last time. */
import type { HistoryPart } from '../../views/history-part';
import { ChartDrawing } from '../drawings/chart';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { sentence } from '../units';
import { useAsked } from './asked';

export function HistoryPage({ of, name }: { of: string; name: string }) {
  const [{ units }] = usePreferences();
  const { reply, refused } = useAsked<HistoryPart>(
    `/api/history?${new URLSearchParams({ of, name }).toString()}`,
  );
  return (
    <div class="side">
      <h1>
        History of {of} {name}
      </h1>
      <Refusal refused={refused} />
      {reply !== undefined && (
        <>
          <p role="status" class="quiet">
            {reply.jobs} {reply.jobs === 1 ? 'job' : 'jobs'}, oldest on the left
          </p>
          {reply.changes.length > 0 && <h2>What has changed since last time</h2>}
          {reply.changes.map(({ title, lines }) => (
            <section key={title}>
              <h3>{title}</h3>
              <ul>
                {lines.map((line) => (
                  <li key={line}>{sentence(line.trim(), units)}</li>
                ))}
              </ul>
            </section>
          ))}
          <div class="pictures">
            {reply.charts.map((chart) => (
              <ChartDrawing key={chart.title} chart={chart} />
            ))}
          </div>
        </>
      )}
      <div class="deeds">
        <a class="button" href="#/records">
          All records
        </a>
      </div>
    </div>
  );
}
