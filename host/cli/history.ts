import { databaseUrl } from '../copies/named';
import { numberedError } from '../errors/errors';
import type { StoredEvent } from '../ledger/events';
import { openLedgerForReading, type JobQuery } from '../ledger/ledger';
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

export interface HistoryOptions {
  readonly log: string;
  readonly database?: string;
  /** Those of the database in the environment. */
  readonly allBays?: boolean;
  readonly serial?: string;
  readonly model?: string;
  readonly technician?: string;
  readonly fixture?: string;
  readonly csv?: string;
  readonly svg?: string;
  readonly limit: number;
  readonly json?: boolean;
}

/** Lays jobs side by side, of this log or of all bays. Errors: 403, 404, 280 to 287 and those of the log. */
export async function history(options: HistoryOptions): Promise<number> {
  const { of, name, query } = asked(options);
  const jobs = await jobsOf(options, { ...query, limit: options.limit });
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
  readonly query: JobQuery;
} {
  const given = [
    { of: 'serial number', name: serial, query: { serialNumber: serial } },
    { of: 'model', name: model, query: { model } },
    { of: 'technician', name: technician, query: { technician } },
    { of: 'fixture', name: fixture, query: { fixtureId: fixture } },
  ].filter((g) => g.name !== undefined);
  const [one] = given;
  if (one === undefined || given.length > 1)
    throw numberedError(
      'command not understood',
      'one of --serial, --model, --technician and --fixture is wanted',
    );
  return one as { of: HistoryOf; name: string; query: JobQuery };
}

/** Another shop's jobs, taken in from an export, have a chain of their own and stay out. */
async function jobsOf({ database, allBays, log }: HistoryOptions, query: JobQuery): Promise<HistoryJob[]> {
  const known = (writer: string, events: readonly StoredEvent[]) => historyJob(writer, events) ?? [];
  if (database === undefined && allBays !== true) {
    const ledger = openLedgerForReading(log);
    try {
      const own = ledger.search(query).filter((entry) => entry.foreign === undefined);
      return own.flatMap(({ job }) => known(ledger.writer, ledger.events(job)));
    } finally {
      ledger.close();
    }
  }
  const { openServer } = await import('../copies/server');
  const { jobEvents, searchShop } = await import('../copies/shop');
  const server = openServer(databaseUrl(database));
  try {
    const jobs: HistoryJob[] = [];
    for (const { writer, entry } of await searchShop(server, query))
      jobs.push(...[known(writer, await jobEvents(server, writer, entry.job))].flat());
    return jobs;
  } finally {
    await server.close();
  }
}
