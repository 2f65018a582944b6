import { copyLog } from '../copies/copy';
import { databaseUrl } from '../copies/named';
import { openServer } from '../copies/server';
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
