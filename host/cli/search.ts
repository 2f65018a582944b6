import { databaseUrl } from '../copies/named';
import type { ShopJob } from '../copies/shop';
import type { JobQuery } from '../ledger/ledger';
import { columns } from '../terminal/stage-text';
import { RESULT_WORDS } from '../views/words';
import { numberedError } from '../errors/errors';
import { print, printJson } from './output';
import { reading } from './with-log';

export interface SearchOptions {
  readonly log: string;
  readonly database?: string;
  /** Those of the database in the environment. */
  readonly allBays?: boolean;
  readonly serial?: string;
  readonly model?: string;
  readonly technician?: string;
  readonly fixture?: string;
  readonly order?: string;
  readonly from?: string;
  readonly to?: string;
  readonly limit: number;
  readonly json?: boolean;
}

/** Lists jobs of this log, or of all bays where a database is named. Errors: 403, 280 to 284 and those of the log. */
export async function search(words: string | undefined, options: SearchOptions): Promise<number> {
  const found = await searchIn(options, queryOf(words, options));
  if (options.json === true) printJson(found.map(({ writer, entry }) => ({ writer, ...entry })));
  else if (found.length === 0) print('No job fits.');
  else
    print(
      ...columns([
        ['log of', 'job', 'opened', 'machine', 'serial', 'technician', 'result'],
        ...found.map(line),
      ]),
    );
  return 0;
}

/** All that fit: from the copies where `--database` is given, else from the log. */
export async function searchIn(
  { database, allBays, log }: Pick<SearchOptions, 'database' | 'allBays' | 'log'>,
  query: JobQuery,
): Promise<ShopJob[]> {
  if (database === undefined && allBays !== true)
    return reading({ log }, (ledger) =>
      ledger.search(query).map((entry) => ({ writer: ledger.writer, entry })),
    );
  const { openServer } = await import('../copies/server');
  const { searchShop } = await import('../copies/shop');
  const server = openServer(databaseUrl(database));
  try {
    return await searchShop(server, query);
  } finally {
    await server.close();
  }
}

function queryOf(words: string | undefined, o: SearchOptions): JobQuery {
  for (const day of [o.from, o.to])
    if (day !== undefined && !/^\d{4}-\d{2}-\d{2}$/.test(day))
      throw numberedError('command not understood', `${day} is not a day as in 2026-01-31`);
  const given = {
    text: words,
    serialNumber: o.serial,
    model: o.model,
    technician: o.technician,
    fixtureId: o.fixture,
    workOrder: o.order,
    from: o.from,
    to: o.to,
  };
  return { ...Object.fromEntries(Object.entries(given).filter(([, v]) => v !== undefined)), limit: o.limit };
}

function line({ writer, entry }: ShopJob): string[] {
  const result = entry.decision === undefined ? 'open' : RESULT_WORDS[entry.decision];
  return [
    entry.foreign?.writer ?? writer,
    `${entry.job}`,
    entry.at.slice(0, 16).replace('T', ' '),
    entry.model,
    entry.serialNumber,
    entry.technicians.filter((t) => t !== '').join(', '),
    result + (entry.simulated ? ' (simulated)' : ''),
  ];
}
