import { expect, test } from 'vitest';
import { WIRE_CASES } from './cases/wire';
import * as drivers from './drivers/wire';
import { loadLua } from './lua';
import { checkParity } from './suite';

const FILE = new URL('./drivers/wire.ts', import.meta.url).pathname;

await checkParity('wire', FILE, drivers, WIRE_CASES);

test('a million random bytes into the reader in Lua: the same as in JavaScript, nothing invented', async () => {
  const lua = await loadLua(FILE);
  const [outcome] = await lua.call('flood', [[20261125, 1_000_000, 0]], 'integer');
  const expected = drivers.flood(20261125, 1_000_000, 0);
  expect(expected).toMatchObject({ sent: 1, accepted: 1, invented: 0 });
  const table = Object.entries<number>({ ...expected }).map(
    ([name, value]) => [name, { kind: 'integer', bits: BigInt(value) }] as const,
  );
  expect(outcome).toEqual({ returned: { table: new Map(table) } });
});
