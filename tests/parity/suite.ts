/** The parity check: every exported function of a barrel, as JavaScript and as Lua, on the same inputs. */
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../host/simulation/random';
import type { Cases, CasesByName } from './cases/cases';
import type { JsOutcome } from './compare';
import { difference } from './compare';
import type { LuaModule, NumberKind, Plain } from './lua';
import { loadLua } from './lua';
import { listOf } from './numbers';

/** A `drivers/` file: the barrel under test, and functions that drive those of its exports that are not plain. */
export interface Drivers {
  readonly barrel: object;
}

const COUNT = 200;

export async function checkParity(
  title: string,
  driversFile: string,
  drivers: Drivers,
  casesByName: CasesByName,
) {
  const lua = await loadLua(driversFile);
  const names = Object.entries(drivers.barrel).flatMap(([name, value]) =>
    typeof value === 'function' ? [name] : [],
  );

  describe(title, () => {
    test('every exported function has cases, and nothing else has', async () => {
      expect(Object.keys(casesByName).sort()).toEqual([...names].sort());
      expect((await lua.functionsIn('barrel')).sort()).toEqual([...names].sort());
    });

    test.each(names)('%s gives the same in both', async (name) => {
      const cases = casesByName[name];
      if (cases === undefined) throw new Error(`${name} has no cases in tests/parity/cases`);
      const path = cases.driver ?? `barrel.${name}`;
      expect(await firstDifference(lua, functionAt(drivers, path), path, cases, name)).toBeUndefined();
    });
  });
}

/** The first argument list on which the two runtimes differ, as floats or as integers, or undefined. */
export async function firstDifference(
  lua: LuaModule,
  js: JsFunction,
  path: string,
  cases: Cases,
  name: string,
) {
  const random = seededRandom(1).split(name);
  const lists = listOf(cases.count ?? COUNT, () => cases.generate(random));
  // A function that changed its arguments would spoil the second run.
  const expected = lists.map((list) => callJs(js, structuredClone(list)));
  for (const kind of ['float', 'integer'] satisfies NumberKind[]) {
    const outcomes = await lua.call(path, lists, kind);
    for (const [i, outcome] of outcomes.entries()) {
      const found = difference(expected[i], outcome, cases.tolerance);
      if (found !== undefined) return { arguments: JSON.stringify(lists[i]), passedAs: kind, found };
    }
    expect(outcomes).toHaveLength(lists.length);
  }
  return undefined;
}

type JsFunction = (...values: Plain[]) => Plain;

function functionAt(drivers: Drivers, path: string): JsFunction {
  const found = path.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown>)[key], drivers);
  if (typeof found !== 'function') throw new Error(`${path} is no function`);
  return found as JsFunction;
}

function callJs(f: JsFunction, list: Plain[]): JsOutcome {
  try {
    return { returned: f(...list) };
  } catch (error) {
    return { threw: String(error) };
  }
}
