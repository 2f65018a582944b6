/** Runs transpiled modules in a Lua 5.4 VM and moves values in and out without losing a bit. */
import { LuaFactory } from 'wasmoon';
import { transpile } from '../../firmware/transpile';

export type Plain = undefined | boolean | number | string | Plain[] | { [name: string]: Plain };

/** How integer-valued numbers enter Lua, which tells integers and floats apart where JavaScript does not. */
export type NumberKind = 'float' | 'integer';

/** A number as it left Lua. */
export interface LuaNumber {
  readonly kind: NumberKind;
  /** The value of an integer, the 64 bits of a float. */
  readonly bits: bigint;
}

/** A plain value as it left Lua. Texts are their UTF-8 bytes in hexadecimal. */
export type LuaValue = undefined | boolean | LuaNumber | { text: string } | { table: Map<string, LuaValue> };

export type LuaOutcome = { threw: string } | { returned: LuaValue };

export interface LuaModule {
  /** Calls the function at `path` ('barrel.crc32c') once for each list of arguments, all in one visit to the VM. */
  call(path: string, argumentLists: readonly Plain[][], numbers: NumberKind): Promise<LuaOutcome[]>;
  /** Names of the functions in the table at `path`. */
  functionsIn(path: string): Promise<string[]>;
}

export async function loadLua(entryFile: string): Promise<LuaModule> {
  const lua = await new LuaFactory().createEngine({ injectObjects: false, enableProxy: false });

  async function run(source: string): Promise<unknown> {
    const top = lua.global.getTop();
    try {
      return await lua.doString(source);
    } finally {
      // The library leaves every result on the VM's stack and never asks for more room: after some forty it would run over.
      lua.global.setTop(top);
    }
  }

  await run(`${PRELUDE}\nmodule = (function(...)\n${transpile(entryFile)}\nend)()`);
  return {
    call: async (path, argumentLists, numbers) => {
      const lists = argumentLists.map(
        (list) => `{n = ${list.length}; ${list.map((value) => literal(value, numbers)).join(',')}}`,
      );
      const text = (await run(`return callAll(module.${path}, {${lists.join(',')}})`)) as string;
      return text.split('\n').slice(0, -1).map(readOutcome);
    },
    functionsIn: async (path) => ((await run(`return functionsIn(module.${path})`)) as string).split(' '),
  };
}

const PRELUDE = String.raw`
local pack, unpack, format = string.pack, string.unpack, string.format

function float(bits) return (unpack("<d", pack("<i8", bits))) end

local function hex(text)
  return (text:gsub(".", function(c) return format("%02x", c:byte()) end))
end

local function show(value, out)
  local kind = math.type(value) or type(value)
  if kind == "integer" then out[#out + 1] = format("i%d;", value)
  elseif kind == "float" then out[#out + 1] = format("f%016x;", (unpack("<i8", pack("<d", value))))
  elseif kind == "string" then out[#out + 1] = "s" .. hex(value) .. ";"
  elseif kind == "boolean" then out[#out + 1] = value and "t" or "b"
  elseif kind == "nil" then out[#out + 1] = "n"
  elseif kind == "table" then
    out[#out + 1] = "{"
    for key, item in pairs(value) do
      -- Positions count from 0, as in JavaScript.
      show(type(key) == "number" and tostring(math.tointeger(key) - 1) or key, out)
      show(item, out)
    end
    out[#out + 1] = "}"
  else error("a " .. kind .. " is no plain value") end
end

function callAll(f, lists)
  local out = {}
  for _, list in ipairs(lists) do
    local ok, result = pcall(f, table.unpack(list, 1, list.n))
    if ok then show(result, out) else out[#out + 1] = "!" .. hex(tostring(result)) .. ";" end
    out[#out + 1] = "\n"
  end
  return table.concat(out)
end

function functionsIn(t)
  local names = {}
  for name, value in pairs(t) do if type(value) == "function" then names[#names + 1] = name end end
  return table.concat(names, " ")
end
`;

const scratch = new DataView(new ArrayBuffer(8));

/** The 64 bits of a double. */
export function bitsOf(value: number): bigint {
  scratch.setFloat64(0, value);
  return scratch.getBigUint64(0);
}

/** A Lua expression for `value`. Floats go as their bits; integers as such when asked for and when Lua can hold them. */
function literal(value: Plain, numbers: NumberKind): string {
  if (value === undefined) return 'nil';
  if (typeof value === 'boolean') return value ? 'true' : 'false';
  if (typeof value === 'number') {
    const asInteger =
      numbers === 'integer' && Number.isInteger(value) && Math.abs(value) < 2 ** 63 && !Object.is(value, -0);
    return asInteger ? `(${BigInt(value)})` : `float(0x${bitsOf(value).toString(16)})`;
  }
  if (typeof value === 'string')
    return `"${[...Buffer.from(value)].map((b) => `\\x${b.toString(16).padStart(2, '0')}`).join('')}"`;
  if (Array.isArray(value)) return `{${value.map((item) => literal(item, numbers)).join(',')}}`;
  return `{${Object.entries(value)
    .map(([name, item]) => `[${literal(name, numbers)}]=${literal(item, numbers)}`)
    .join(',')}}`;
}

function readOutcome(line: string): LuaOutcome {
  if (line.startsWith('!')) return { threw: Buffer.from(line.slice(1, -1), 'hex').toString() };
  let at = 0;

  function word(): string {
    const end = line.indexOf(';', at);
    const text = line.slice(at, end);
    at = end + 1;
    return text;
  }

  function value(): LuaValue {
    const kind = line[at++];
    if (kind === 'n') return undefined;
    if (kind === 't' || kind === 'b') return kind === 't';
    if (kind === 'i') return { kind: 'integer', bits: BigInt(word()) };
    if (kind === 'f') return { kind: 'float', bits: BigInt(`0x${word()}`) };
    if (kind === 's') return { text: word() };
    const table = new Map<string, LuaValue>();
    while (line[at] !== '}') {
      const key = value() as { text: string };
      table.set(Buffer.from(key.text, 'hex').toString(), value());
    }
    at++;
    return { table };
  }

  return { returned: value() };
}
