/**
 * The door to the database server that holds copies of every bay's log. Nothing that it says or throws shows a password.
 */
import { Socket } from 'node:net';
import { Kysely, PostgresDialect } from 'kysely';
import pg from 'pg';
import { NumberedError, numberedError } from '../errors/errors';
import type { CopiesDatabase } from './tables';

const CONNECT_MS = 5000;
const STATEMENT_MS = 30_000;

export interface Server {
  readonly db: Kysely<CopiesDatabase>;
  /** "user@host:port/database". */
  readonly name: string;
  close(): Promise<void>;
  /** Cuts every connection, so that a server that hangs keeps nobody. What was not yet kept there is not kept. */
  abandon(): void;
}

/** Connects when first asked for something. `url`: a connection string of PostgreSQL. Errors: 281. */
export function openServer(url: string): Server {
  const name = nameOf(url);
  const sockets = new Set<Socket>();
  const newSocket = () => {
    const socket = new Socket();
    sockets.add(socket.once('close', () => sockets.delete(socket)));
    return socket;
  };
  const pool = new pg.Pool({
    connectionString: url,
    max: 2,
    connectionTimeoutMillis: CONNECT_MS,
    statement_timeout: STATEMENT_MS,
    query_timeout: STATEMENT_MS,
    keepAlive: true,
    allowExitOnIdle: true,
    application_name: 'swathplane',
    stream: newSocket,
  });
  // A connection that breaks while nobody uses it is replaced at the next use.
  pool.on('error', () => {});
  // One that breaks inside a transaction fails the query in hand; by itself it must not end the program.
  pool.on('connect', (client) => client.on('error', () => {}));
  const db = new Kysely<CopiesDatabase>({ dialect: new PostgresDialect({ pool }) });
  const abandon = () => sockets.forEach((socket) => socket.destroy());
  return { db, name, close: () => db.destroy(), abandon };
}

/** What went wrong at the server, as a numbered error: 282 where waiting helps, 283 where it does not. */
export async function atServer<T>(server: Pick<Server, 'name'>, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (fault) {
    if (fault instanceof NumberedError || fault instanceof TypeError) throw fault;
    const code = fault instanceof Error && 'code' in fault ? String(fault.code) : '';
    const said = fault instanceof Error ? fault.message : '';
    // The cause stays out: a driver's error may carry the connection it was given.
    const about = `${server.name}: ${said}`;
    if (REFUSED.test(code)) throw numberedError('copies refused', about);
    throw numberedError('copies not reachable', about);
  }
}

/** Of the SQLSTATE classes (PostgreSQL manual, appendix A): authorization, no such database, no such or forbidden object. */
const REFUSED = /^(28|3D|42|0A|22|23|25006)/;

function nameOf(url: string): string {
  try {
    const { user, host, port, database } = new pg.Client({ connectionString: url });
    return `${user ?? ''}@${host}:${port}/${database ?? ''}`;
  } catch {
    throw numberedError('copies server unclear');
  }
}
