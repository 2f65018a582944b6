/**
 * The one door to SQLite. The native binding aborts the process when a boolean or an object is bound, takes missing
 * parameters for NULL and never waits for a lock unless told to: here every parameter is checked and counted first.
 * It also aborts on a text column that is not UTF-8, as a damaged file may hold: select texts as `CAST(... AS BLOB)` and
 * they are decoded here.
 */
import Libsql from 'libsql';

export type SqlValue = string | number | null;
export type SqlRow = Readonly<Record<string, SqlValue>>;

/** An SQLite failure with its symbolic result code, for example SQLITE_FULL; `SQLITE_CANTOPEN` when the file did not open. */
export class SqlError extends Error {
  constructor(
    readonly code: string,
    message: string,
    options: { cause: unknown },
  ) {
    super(message, options);
    this.name = 'SqlError';
  }
}

export class Sql {
  private constructor(private readonly database: Libsql.Database) {}

  /** Opens the file, creating it when it does not exist. Statements wait up to `waitMs` for a lock of another process. */
  static open(path: string, waitMs: number): Sql {
    return guarded(() => new Sql(new Libsql(path, { timeout: waitMs })));
  }

  /** Runs statements without parameters or results. */
  execute(sql: string): void {
    guarded(() => this.database.exec(sql));
  }

  /** A statement to be run many times. */
  prepare(sql: string): SqlStatement {
    return new SqlStatement(
      guarded(() => this.database.prepare(sql)),
      sql,
    );
  }

  /** Runs `work`, whose statements take effect together or not at all. */
  transaction(work: () => void): void {
    this.execute('BEGIN IMMEDIATE');
    try {
      work();
      this.execute('COMMIT');
    } catch (fault) {
      try {
        this.execute('ROLLBACK');
      } catch {
        // SQLite has rolled back by itself, as after a full disk.
      }
      throw fault;
    }
  }

  close(): void {
    guarded(() => this.database.close());
  }
}

export class SqlStatement {
  private readonly parameters: number;

  constructor(
    private readonly statement: Libsql.Statement<unknown[]>,
    private readonly sql: string,
  ) {
    this.parameters = sql.split('?').length - 1;
  }

  run(...values: readonly SqlValue[]): void {
    this.check(values);
    guarded(() => this.statement.run([...values]));
  }

  /** All rows at once: an iterator left half way would keep the file's read lock. */
  all(...values: readonly SqlValue[]): SqlRow[] {
    this.check(values);
    const rows = guarded(() => this.statement.all([...values]) as Record<string, SqlValue | Uint8Array>[]);
    return rows.map((row) =>
      Object.fromEntries(Object.entries(row).map(([key, value]) => [key, decoded(value)])),
    );
  }

  private check(values: readonly SqlValue[]): void {
    if (values.length !== this.parameters) {
      throw new TypeError(`${this.parameters} parameters wanted, ${values.length} given: ${this.sql}`);
    }
    for (const value of values as readonly unknown[]) {
      if (value === null || (typeof value === 'number' && Number.isFinite(value))) continue;
      // A NUL would cut the text short inside SQLite.
      if (typeof value === 'string' && !value.includes('\0')) continue;
      throw new TypeError(
        `cannot bind ${typeof value === 'string' ? 'a text with NUL' : typeof value}: ${this.sql}`,
      );
    }
  }
}

const UTF8 = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

function decoded(value: SqlValue | Uint8Array): SqlValue {
  if (value === null || typeof value === 'number' || typeof value === 'string') return value;
  try {
    // The binding gives an ArrayBuffer or a view on one.
    return UTF8.decode(value);
  } catch (cause) {
    throw new SqlError('SQLITE_CORRUPT', 'a text is not UTF-8', { cause });
  }
}

function guarded<T>(work: () => T): T {
  try {
    return work();
  } catch (cause) {
    if (!(cause instanceof Error)) throw cause;
    // A file that does not open is reported with an empty code.
    const code =
      'code' in cause && typeof cause.code === 'string' && cause.code !== '' ? cause.code : 'SQLITE_CANTOPEN';
    throw new SqlError(code, cause.message, { cause });
  }
}
