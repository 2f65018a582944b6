/** Writes into this log's signed chain where other bays' chains end: who rebuilds one of those later contradicts this one. */
import { numberedError } from '../errors/errors';
import { namedDatabase } from '../copies/named';
import type { SeenHead } from '../ledger/events';
import { print, printJson } from './output';
import { reading, writing } from './with-log';

export interface WitnessOptions {
  readonly log: string;
  readonly bay: string;
  readonly database?: string;
  readonly json?: boolean;
}

/** Heads from log files, and from the copies in a database where one is named. Errors: 403, and those of logs and database. */
export async function witness(files: readonly string[], options: WitnessOptions): Promise<number> {
  const url = namedDatabase(options.database);
  const seen: SeenHead[] = files.flatMap((log) => reading({ log }, (other) => headOf(other.seal())));
  if (url !== undefined) seen.push(...(await headsInDatabase(url)));
  const heads = seen.filter((head) => head.writer !== options.bay);
  if (heads.length === 0)
    throw numberedError('command not understood', 'no log of another bay and no database with one was named');
  writing(options, (ledger) => ledger.appendOfShop({ type: 'heads seen', heads }));
  if (options.json === true) printJson(heads);
  else print(...heads.map(({ writer, sequence, hash }) => `${writer}: event ${sequence}, ${hash}`));
  return 0;
}

function headOf(seal: SeenHead | undefined): SeenHead[] {
  if (seal === undefined) return [];
  const { writer, sequence, hash } = seal;
  return [{ writer, sequence, hash }];
}

async function headsInDatabase(url: string): Promise<SeenHead[]> {
  const { openServer } = await import('../copies/server');
  const { copyHeads } = await import('../copies/shop');
  const server = openServer(url);
  try {
    return (await copyHeads(server)).flatMap((head) => headOf(head));
  } finally {
    await server.close();
  }
}
