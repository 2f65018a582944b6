import { describe, expect, test } from 'vitest';
import { Sql, SqlError } from '../../../host/ledger/database';
import type { SqlValue } from '../../../host/ledger/database';

describe('the door to SQLite', () => {
  const sql = Sql.open(':memory:', 0);
  sql.execute('CREATE TABLE t (a ANY, b ANY) STRICT');
  const insert = sql.prepare('INSERT INTO t (a, b) VALUES (?, ?)');

  test.each<[string, unknown[]]>([
    ['a boolean, which would abort the process', [true, 1]],
    ['an object, which would abort the process', [{}, 1]],
    ['an array', [[1], 1]],
    ['undefined', [undefined, 1]],
    ['NaN', [Number.NaN, 1]],
    ['a text with NUL', ['a\0b', 1]],
    ['a big integer', [1n, 1]],
    ['a missing parameter, which would pass as NULL', [1]],
    ['one parameter too many', [1, 2, 3]],
  ])('refuses %s', (_what, values) => {
    expect(() => insert.run(...(values as SqlValue[]))).toThrow(TypeError);
    expect(sql.prepare('SELECT count(*) AS rows FROM t').all()).toEqual([{ rows: 0 }]);
  });

  test('gives SQLite’s own code', () => {
    expect(() => sql.execute('SELECT * FROM nothing')).toThrow(SqlError);
    try {
      Sql.open('/nowhere/at/all', 0);
      expect.unreachable();
    } catch (error) {
      expect((error as SqlError).code).toBe('SQLITE_CANTOPEN');
    }
  });

  test('decodes texts selected as bytes and refuses those that are not UTF-8', () => {
    expect(sql.prepare("SELECT CAST('€ ' || char(0) AS BLOB) AS text").all()).toEqual([{ text: '€ \0' }]);
    expect(() => sql.prepare("SELECT x'61ff' AS text").all()).toThrow(SqlError);
  });
});
