import { copyLog } from '../copies/copy';
import { followLog, type Following } from '../copies/follow';
import { databaseUrl, DATABASE_VARIABLE, openServer } from '../copies/server';
import { checkCopy, copyHeads } from '../copies/shop';
import { columns } from '../terminal/stage-text';
import { openLedgerForReading } from '../ledger/ledger';
import { print, printJson } from './output';

export interface CopiesOptions {
  readonly log: string;
  readonly database?: string;
  /** Check every copy of the database. */
  readonly check?: boolean;
  /** Only look, copy nothing. */
  readonly list?: boolean;
  readonly json?: boolean;
}

/** Copies what is missing of this bay's log, and lists whose logs the database holds. Errors: 280 to 287. */
export async function copies(options: CopiesOptions): Promise<number> {
  const server = openServer(databaseUrl(options.database));
  try {
    const copied = options.list === true ? undefined : await copyNow(server, options.log);
    const heads = await copyHeads(server);
    if (options.check === true) for (const { writer } of heads) await checkCopy(server, writer);
    if (options.json === true)
      printJson({ database: server.name, copied, heads, checked: options.check === true });
    else
      print(
        ...(copied === undefined
          ? []
          : [
              `${copied.events} events copied to ${server.name}; the copy of ${copied.writer} ends with event ${copied.sequence}`,
            ]),
        ...columns([
          ['log of', 'events', 'last', 'hash', ...(options.check === true ? ['checked'] : [])],
          ...heads.map((h) => [
            h.writer,
            `${h.events}`,
            h.at.slice(0, 16).replace('T', ' '),
            h.hash.slice(0, 12),
            ...(options.check === true ? ['chain and signatures intact'] : []),
          ]),
        ]),
      );
    return 0;
  } finally {
    await server.close();
  }
}

async function copyNow(server: ReturnType<typeof openServer>, path: string) {
  const log = openLedgerForReading(path);
  try {
    return { writer: log.writer, ...(await copyLog(server, log)) };
  } finally {
    log.close();
  }
}

/** What a bay gives the copying at its end, so that a job that has just been closed is there too. */
const GRACE_MS = 2000;

/** Copies in the background where a database is named; `say` hears when that does not go on. */
export function copying(
  { log, database }: { readonly log: string; readonly database?: string },
  say: (text: string) => void,
): { stop(): Promise<void> } {
  if (database === undefined && (process.env[DATABASE_VARIABLE] ?? '') === '')
    return { stop: () => Promise.resolve() };
  const following: Following = followLog(log, databaseUrl(database), {
    changed: (state) => {
      if (state.is === 'given up') say(`Copies: ${state.error.message}`);
      else if (state.is === 'waiting')
        say('Copies: the database does not answer; the bay goes on without it.');
    },
  });
  return {
    stop: async () => {
      const state = await following.stop(GRACE_MS);
      if (state.is === 'waiting' || state.is === 'begun')
        say('Copies: not everything is copied yet; `swathplane copies` copies the rest.');
    },
  };
}
