/**
 * A real Lua 5.4 machine (wasmoon's) for the firmware's bundle. It goes below wasmoon's own conversions, which are slow
 * and end a string at its first 0: bytes pass as Lua strings, by pointer and length.
 *
 * All machines of a process share one WebAssembly module; each has its own Lua state.
 */
import { LuaFactory } from 'wasmoon';

/** What natives take and give. Byte lists are Lua strings, undefined is nil. */
export type LuaValue = number | boolean | readonly number[] | undefined;
/** A function of the board. Each gets what Lua passed, in order. */
export type Native = (...values: never[]) => LuaValue;

export interface LuaVm {
  /** Calls an exported function without arguments; returns its number (0 when it gives none). Throws on a Lua error. */
  call(exported: string): number;
  /** Bytes that the Lua heap holds, garbage included. */
  heapBytes(): number;
  /** Frees the state. Nothing may be called afterwards. */
  close(): void;
}

export interface Lua {
  /**
   * Loads `chunk` into a new machine that has the libraries and one global table `tableName` of natives, texts and numbers, and
   * runs it. Throws the Lua error with its traceback when it fails.
   */
  create(
    chunk: string,
    tableName: string,
    natives: Readonly<Record<string, Native | string | number>>,
  ): LuaVm;
}

/** Loads Lua itself, once for each process. */
export async function loadLua(): Promise<Lua> {
  const wasm = await module();
  return { create: (chunk, tableName, natives) => createVm(wasm, chunk, tableName, natives) };
}

function createVm(
  wasm: LuaModule,
  chunk: string,
  tableName: string,
  natives: Readonly<Record<string, Native | string | number>>,
): LuaVm {
  const L = wasm._luaL_newstate();
  wasm._luaL_openlibs(L);
  nativesOf.set(L, []);
  const close = (): void => {
    nativesOf.delete(L);
    wasm._lua_close(L);
  };
  try {
    setTable(wasm, L, tableName, natives);
    run(wasm, L, chunk);
  } catch (error) {
    close();
    throw error;
  }
  const number = (): number => {
    protectedCall(wasm, L, 1);
    const value = wasm._lua_tonumberx(L, -1, 0);
    wasm._lua_settop(L, -2);
    return value;
  };
  return {
    call: (exported) => {
      wasm._lua_getfield(L, EXPORTS_AT, nameOf(wasm, exported));
      return number();
    },
    heapBytes: () => {
      load(wasm, L, "return collectgarbage('count') * 1024", 'heap');
      return number();
    },
    close,
  };
}

// ---- the module ----------------------------------------------------------------------------------------------------

/** What is used of the module: Lua's C interface (reference manual of Lua 5.4, chapter 4). */
interface LuaModule {
  readonly HEAPU8: Uint8Array;
  readonly HEAPU32: Uint32Array;
  addFunction(run: (L: number) => number, signature: string): number;
  _malloc(bytes: number): number;
  _free(at: number): void;
  _luaL_newstate(): number;
  _luaL_openlibs(L: number): void;
  _luaL_loadbufferx(L: number, buffer: number, size: number, name: number, mode: number): number;
  _luaL_traceback(L: number, of: number, message: number, level: number): void;
  _lua_close(L: number): void;
  _lua_createtable(L: number, items: number, fields: number): void;
  _lua_getfield(L: number, index: number, name: number): number;
  _lua_gettop(L: number): number;
  _lua_pcallk(
    L: number,
    values: number,
    results: number,
    handler: number,
    context: number,
    k: number,
  ): number;
  _lua_pushboolean(L: number, value: number): void;
  _lua_pushcclosure(L: number, run: number, values: number): void;
  _lua_pushinteger(L: number, value: bigint): void;
  _lua_pushlstring(L: number, text: number, size: number): number;
  _lua_pushnil(L: number): void;
  _lua_pushnumber(L: number, value: number): void;
  _lua_rotate(L: number, index: number, steps: number): void;
  _lua_setfield(L: number, index: number, name: number): void;
  _lua_setglobal(L: number, name: number): void;
  _lua_settop(L: number, index: number): void;
  _lua_toboolean(L: number, index: number): number;
  _lua_tolstring(L: number, index: number, size: number): number;
  _lua_tonumberx(L: number, index: number, isNumber: number): number;
  _lua_type(L: number, index: number): number;
}

const TYPE_BOOLEAN = 1;
const TYPE_STRING = 4;
/** Where a C function finds the number of its native: LUA_REGISTRYINDEX - 1. */
const FIRST_UPVALUE = -1_001_001;
/** Every state keeps the error handler at the bottom of its stack and the chunk's exports above it. */
const HANDLER_AT = 1;
const EXPORTS_AT = 2;
const BUFFER_BYTES = 4096;

let shared: Promise<LuaModule> | undefined;
let buffer = 0;
let sizeAt = 0;
let dispatcher = 0;
let tracer = 0;
const nativesOf = new Map<number, Native[]>();
const names = new Map<string, number>();

function module(): Promise<LuaModule> {
  shared ??= new LuaFactory().getLuaModule().then((lua) => {
    const wasm = lua.module as unknown as LuaModule;
    buffer = wasm._malloc(BUFFER_BYTES);
    sizeAt = wasm._malloc(4);
    dispatcher = wasm.addFunction((L) => dispatch(wasm, L), 'ii');
    tracer = wasm.addFunction((L) => {
      wasm._luaL_traceback(L, L, wasm._lua_tolstring(L, 1, 0), 1);
      return 1;
    }, 'ii');
    return wasm;
  });
  return shared;
}

/** The one C function behind all natives of all states. */
function dispatch(wasm: LuaModule, L: number): number {
  const native = nativesOf.get(L)![wasm._lua_tonumberx(L, FIRST_UPVALUE, 0)] as (
    ...values: LuaValue[]
  ) => LuaValue;
  const values: LuaValue[] = [];
  const count = wasm._lua_gettop(L);
  for (let i = 1; i <= count; i++) values.push(valueAt(wasm, L, i));
  push(wasm, L, native(...values));
  return 1;
}

function valueAt(wasm: LuaModule, L: number, index: number): LuaValue {
  const type = wasm._lua_type(L, index);
  if (type === TYPE_BOOLEAN) return wasm._lua_toboolean(L, index) !== 0;
  if (type !== TYPE_STRING) return wasm._lua_tonumberx(L, index, 0);
  const at = wasm._lua_tolstring(L, index, sizeAt);
  const size = wasm.HEAPU32[sizeAt >> 2];
  return Array.from(wasm.HEAPU8.subarray(at, at + size));
}

function push(wasm: LuaModule, L: number, value: LuaValue): void {
  if (value === undefined) wasm._lua_pushnil(L);
  else if (typeof value === 'boolean') wasm._lua_pushboolean(L, value ? 1 : 0);
  else if (typeof value === 'object') {
    if (value.length > BUFFER_BYTES)
      throw new Error(`${value.length} bytes are more than a native may return`);
    wasm.HEAPU8.set(value, buffer);
    wasm._lua_pushlstring(L, buffer, value.length);
  } else if (Number.isInteger(value)) wasm._lua_pushinteger(L, BigInt(value));
  else wasm._lua_pushnumber(L, value);
}

function setTable(
  wasm: LuaModule,
  L: number,
  name: string,
  entries: Readonly<Record<string, Native | string | number>>,
): void {
  wasm._lua_createtable(L, 0, 0);
  const natives = nativesOf.get(L)!;
  for (const [key, entry] of Object.entries(entries)) {
    if (typeof entry === 'string') {
      push(wasm, L, [...new TextEncoder().encode(entry)]);
    } else if (typeof entry === 'number') {
      wasm._lua_pushnumber(L, entry);
    } else {
      wasm._lua_pushnumber(L, natives.length);
      wasm._lua_pushcclosure(L, dispatcher, 1);
      natives.push(entry);
    }
    withText(wasm, key, (text) => wasm._lua_setfield(L, -2, text));
  }
  withText(wasm, name, (text) => wasm._lua_setglobal(L, text));
}

/** Runs the chunk on an empty stack and leaves the handler and the chunk's exports on the stack. */
function run(wasm: LuaModule, L: number, chunk: string): void {
  wasm._lua_pushcclosure(L, tracer, 0);
  load(wasm, L, chunk, 'fixture');
  protectedCall(wasm, L, 1);
}

function load(wasm: LuaModule, L: number, chunk: string, name: string): void {
  const bytes = new TextEncoder().encode(chunk);
  const at = wasm._malloc(bytes.length);
  wasm.HEAPU8.set(bytes, at);
  const status = withText(wasm, `=${name}`, (text) => wasm._luaL_loadbufferx(L, at, bytes.length, text, 0));
  wasm._free(at);
  if (status !== 0) fail(wasm, L);
}

function protectedCall(wasm: LuaModule, L: number, results: number): void {
  if (wasm._lua_pcallk(L, 0, results, HANDLER_AT, 0, 0) !== 0) fail(wasm, L);
}

function fail(wasm: LuaModule, L: number): never {
  const text = valueAt(wasm, L, -1) as readonly number[];
  wasm._lua_settop(L, -2);
  throw new Error(new TextDecoder().decode(Uint8Array.from(text)));
}

/** A C string of an exported name, made once: `step` is called very often. */
function nameOf(wasm: LuaModule, name: string): number {
  const known = names.get(name);
  if (known !== undefined) return known;
  const bytes = new TextEncoder().encode(`${name}\0`);
  const at = wasm._malloc(bytes.length);
  wasm.HEAPU8.set(bytes, at);
  names.set(name, at);
  return at;
}

/** Lends `use` a pointer to `text` as a C string. */
function withText<T>(wasm: LuaModule, text: string, use: (at: number) => T): T {
  const bytes = new TextEncoder().encode(`${text}\0`);
  const at = wasm._malloc(bytes.length);
  wasm.HEAPU8.set(bytes, at);
  try {
    return use(at);
  } finally {
    wasm._free(at);
  }
}
