import { historyInLog, historyQuery } from '../conduct/history-in-log';
import { databaseUrl } from '../copies/named';
import { numberedError } from '../errors/errors';
import { historyText, trendChart } from '../views/history-pictures';
import {
  historyJob,
  historyTable,
  historyView,
  type HistoryJob,
  type HistoryOf,
} from '../views/history-view';
import { svgCharts } from '../views/svg-chart';
import { tableCsv } from '../views/table';
import { print, printJson, writeOut } from './output';
import type { SearchOptions } from './search';
import { reading } from './with-log';

export interface HistoryOptions extends Omit<SearchOptions, 'order' | 'from' | 'to'> {
  readonly csv?: string;
  readonly svg?: string;
}

/** Lays jobs side by side, of this log or of all bays. Errors: 403, 404, 280 to 287 and those of the log. */
export async function history(options: HistoryOptions): Promise<number> {
  const { of, name } = asked(options);
  const jobs = await jobsOf(options, of, name);
  const view = historyView(of, name, jobs);
  if (options.csv !== undefined) writeOut(options.csv, Buffer.from(tableCsv(historyTable(view))));
  const charts = view.trends.flatMap((t) => trendChart(t) ?? []);
  if (options.svg !== undefined) writeOut(options.svg, Buffer.from(svgCharts(charts)));
  if (options.json === true) printJson(view);
  else if (jobs.length === 0) print('No job fits.');
  else print(...historyText(view));
  return 0;
}

function asked({ serial, model, technician, fixture }: HistoryOptions): {
  readonly of: HistoryOf;
  readonly name: string;
} {
  const given = [
    { of: 'serial number', name: serial },
    { of: 'model', name: model },
    { of: 'technician', name: technician },
    { of: 'fixture', name: fixture },
  ].filter((g) => g.name !== undefined);
  const [one] = given;
  if (one === undefined || given.length > 1)
    throw numberedError(
      'command not understood',
      'one of --serial, --model, --technician and --fixture is wanted',
    );
  return one as { of: HistoryOf; name: string };
}

async function jobsOf(
  { database, allBays, log, limit }: HistoryOptions,
  of: HistoryOf,
  name: string,
): Promise<HistoryJob[]> {
  if (database === undefined && allBays !== true)
    return reading({ log }, (ledger) => [...historyInLog(ledger, of, name, limit).jobs]);
  const { openServer } = await import('../copies/server');
  const { jobEvents, searchShop } = await import('../copies/shop');
  const server = openServer(databaseUrl(database));
  try {
    const jobs: HistoryJob[] = [];
    for (const { writer, entry } of await searchShop(server, { ...historyQuery(of, name), limit })) {
      const job = historyJob(writer, await jobEvents(server, writer, entry.job));
      if (job !== undefined) jobs.push(job);
    }
    return jobs;
  } finally {
    await server.close();
  }
}
