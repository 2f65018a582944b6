/** Holds what JavaScript returned against what Lua returned. */
import type { LuaNumber, LuaOutcome, LuaValue, Plain } from './lua';
import { bitsOf } from './lua';

/**
 * How far floats may lie apart, in units in the last place of the JavaScript value, and why. `of: 'largest'` counts in
 * units of the largest number of the whole result, for results whose small entries are differences of large ones.
 */
export interface Tolerance {
  readonly ulps: number;
  readonly of: 'each' | 'largest';
  readonly reason: string;
}

export type JsOutcome = { threw: string } | { returned: Plain };

/** The first difference, as "where: JavaScript / Lua", or undefined when there is none. */
export function difference(js: JsOutcome, lua: LuaOutcome, tolerance?: Tolerance): string | undefined {
  // Only that both refuse must agree: the words of a runtime's own errors are its own.
  if ('threw' in js || 'threw' in lua) {
    const jsSays = 'threw' in js ? `threw ${js.threw}` : 'returned';
    const luaSays = 'threw' in lua ? `threw ${lua.threw}` : 'returned';
    return 'threw' in js && 'threw' in lua ? undefined : `${jsSays} / ${luaSays}`;
  }
  const step = tolerance?.of === 'largest' ? ulpOf(largest(js.returned)) : undefined;
  return differs(
    js.returned,
    lua.returned,
    'result',
    (a, b) => Math.abs(a - b) <= (tolerance?.ulps ?? 0) * (step ?? ulpOf(a)),
  );
}

type Near = (js: number, lua: number) => boolean;

function differs(js: Plain, lua: LuaValue, where: string, near: Near): string | undefined {
  const unlike = `${where}: ${show(js)} / ${showLua(lua)}`;
  if (js === undefined || typeof js === 'boolean') return js === lua ? undefined : unlike;
  if (typeof lua !== 'object') return unlike;
  if (typeof js === 'number') return 'bits' in lua && sameNumber(js, lua, near) ? undefined : unlike;
  if (typeof js === 'string')
    return 'text' in lua && lua.text === Buffer.from(js).toString('hex') ? undefined : unlike;
  if (!('table' in lua)) return unlike;

  // An absent field and one that is undefined are the same to Lua.
  const entries = Object.entries(js).filter(([, item]) => item !== undefined);
  for (const key of lua.table.keys())
    if (!entries.some(([name]) => name === key)) return `${where}.${key}: only in Lua`;
  for (const [name, item] of entries) {
    const found = differs(item, lua.table.get(name), `${where}.${name}`, near);
    if (found !== undefined) return found;
  }
  return undefined;
}

function sameNumber(js: number, lua: LuaNumber, near: Near): boolean {
  // A Lua integer has no negative zero, so it stands for both.
  if (lua.kind === 'integer') return Number.isInteger(js) && BigInt(js) === lua.bits;
  const value = floatOf(lua.bits);
  return (
    bitsOf(js) === lua.bits || (Number.isNaN(js) && Number.isNaN(value)) || (value !== js && near(js, value))
  );
}

const scratch = new DataView(new ArrayBuffer(8));

function floatOf(bits: bigint): number {
  scratch.setBigUint64(0, bits);
  return scratch.getFloat64(0);
}

/** The distance from a finite number to the next one away from zero; 0 for what is not finite. */
export function ulpOf(value: number): number {
  const bits = bitsOf(Math.abs(value));
  return Number.isFinite(value) ? floatOf(bits + 1n) - floatOf(bits) : 0;
}

function largest(value: Plain): number {
  if (typeof value === 'number') return Math.abs(value);
  if (value === undefined || typeof value !== 'object') return 0;
  return Object.values(value).reduce<number>((most, item) => Math.max(most, largest(item)), 0);
}

const show = (value: Plain) =>
  typeof value === 'number' ? `${value} (0x${bitsOf(value).toString(16)})` : JSON.stringify(value);

function showLua(value: LuaValue): string {
  if (typeof value !== 'object') return String(value);
  if ('text' in value) return `text ${value.text}`;
  if ('table' in value) return `table of ${value.table.size}`;
  return value.kind === 'integer'
    ? `integer ${value.bits}`
    : `${floatOf(value.bits)} (0x${value.bits.toString(16)})`;
}
