/** A history as the page shows it: charts, and what has changed since a machine was here. */
import { changeLines, trendChart } from './history-pictures';
import type { HistoryOf, HistoryView } from './history-view';
import type { Chart } from './svg-chart';

export interface HistoryPart {
  readonly of: HistoryOf;
  readonly name: string;
  readonly jobs: number;
  readonly charts: readonly Chart[];
  /** Newest first: a heading and its lines. */
  readonly changes: readonly { readonly title: string; readonly lines: readonly string[] }[];
}

export function historyPart(view: HistoryView): HistoryPart {
  return {
    of: view.of,
    name: view.name,
    jobs: view.jobs.length,
    charts: view.trends.flatMap((trend) => trendChart(trend) ?? []),
    changes: [...view.changes].reverse().map((change) => {
      const [title = '', ...lines] = changeLines(change);
      return { title, lines };
    }),
  };
}
