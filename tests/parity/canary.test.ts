/** Proves that the parity check can fail. */
import { expect, test } from 'vitest';
import type { Random } from '../../host/simulation/random';
import * as canary from './drivers/canary';
import type { Tolerance } from './compare';
import type { Plain } from './lua';
import { loadLua } from './lua';
import { anyNumber } from './numbers';
import { firstDifference } from './suite';

const lua = await loadLua(new URL('./drivers/canary.ts', import.meta.url).pathname);

const GENERATORS: Record<string, (random: Random) => Plain[]> = {
  product: (random) => [anyNumber(random), anyNumber(random)],
  remainder: (random) => [anyNumber(random)],
  shifted: (random) => [random.normal(1e9)],
  size: (random) => [random.chance(0.1) ? 'é' : 'e'],
  lastPlace: (random) => [anyNumber(random)],
};

const check = (name: keyof typeof canary, tolerance?: Tolerance) => {
  const cases = {
    generate: GENERATORS[name] ?? (() => []),
    ...(tolerance === undefined ? {} : { tolerance }),
  };
  return firstDifference(lua, canary[name] as (...values: Plain[]) => Plain, name, cases, name);
};

test.each(Object.keys(GENERATORS))('a difference in %s is found', async (name) => {
  expect(await check(name as keyof typeof canary)).toMatchObject({
    found: expect.stringContaining('result') as string,
  });
});

test('a difference within the stated units in the last place passes, and only that', async () => {
  const within: Tolerance = { ulps: 2, of: 'each', reason: 'canary' };
  expect(await check('lastPlace', within)).toBeUndefined();
  expect(await check('product', within)).toBeDefined();
});
