/**
 * Builds the image for RP2040 boards, `npm run build:firmware -- pico`: Lua from Debian's source package, the board layer
 * and the stripped byte code of the bundle that every other board runs, in build/firmware/pico/. It needs the packages of
 * `.ci/debian.sh`. What is there already for the same sources is not built again.
 */
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { inFlash } from './byte-code';
import { crcOfBoot2, uf2 } from './uf2';
import { PROJECT_ROOT } from './transpile';

const BOARD = join(PROJECT_ROOT, 'firmware/boards/pico');
const OUT = join(PROJECT_ROOT, 'build/firmware/pico');
const LUA = join(PROJECT_ROOT, 'build/firmware/lua');
const COMPILER = 'arm-none-eabi-gcc';
const TOOLS = [COMPILER, 'cc', 'dpkg-source'];

/** Flash begins here. */
export const FLASH_ADDRESS = 0x10000000;
const BOOT2_BYTES = 256;

const NOT_ON_THE_BOARD = [
  'lua.c',
  'luac.c',
  'linit.c',
  'liolib.c',
  'loslib.c',
  'loadlib.c',
  'lcorolib.c',
  'lutf8lib.c',
  'lundump.c',
];
const CORE = ['-mcpu=cortex-m0plus', '-mthumb'];
const C_OPTIONS = [
  ...CORE,
  '-O2',
  '-std=gnu11',
  '-ffunction-sections',
  '-fdata-sections',
  '-g0',
  '--param=min-pagesize=0',
];
const STRICT = ['-Wall', '-Wextra', '-Werror'];

export interface Image {
  readonly elf: string;
  readonly bin: string;
  readonly uf2: string;
  /** Where each part lies and how large it is, as lines for people. */
  readonly report: string;
  /** The C sources of the board layer. */
  readonly cFiles: readonly string[];
  /** Address of each symbol of the image. */
  readonly symbols: ReadonlyMap<string, number>;
}

/** What is missing to build the image, and how to get it; undefined: nothing. */
export function missingForImage(): string | undefined {
  const missing = TOOLS.filter((tool) => !existsInPath(tool));
  return missing.length === 0 ? undefined : `needs ${missing.join(', ')}: bash .ci/debian.sh`;
}

/** Brings the image of this bundle up to date. */
export function buildImage(bundle: string): Image {
  const missing = missingForImage();
  if (missing !== undefined) throw new Error(`the image ${missing}`);
  const hash = hashOf(bundle);
  const hashFile = join(OUT, 'sources');
  if (!existsSync(hashFile) || readFileSync(hashFile, 'utf8') !== hash) make(bundle, hash);
  return {
    elf: join(OUT, 'fixture.elf'),
    bin: join(OUT, 'fixture.bin'),
    uf2: join(OUT, 'fixture.uf2'),
    report: readFileSync(join(OUT, 'size.txt'), 'utf8'),
    cFiles: boardFiles(/\.[ch]$/),
    symbols: symbolsOf(join(OUT, 'fixture.elf')),
  };
}

/** Byte code of a Lua text, without names and line numbers, as the board's Lua loads it. */
export function byteCode(text: string): Buffer {
  const luac = luaCompiler();
  const file = join(LUA, `chunk.${process.pid}`);
  try {
    writeFileSync(`${file}.lua`, text);
    execFileSync(luac, ['-s', '-o', `${file}.luac`, `${file}.lua`]);
    return readFileSync(`${file}.luac`);
  } finally {
    for (const end of ['lua', 'luac']) rmSync(`${file}.${end}`, { force: true });
  }
}

/** Builds everything beside the place where it belongs and moves it there at the end, so several may do so at once. */
function make(bundle: string, hash: string): void {
  const folder = `${OUT}.${process.pid}`;
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, 'fixture.chunk'), inFlash(byteCode(bundle)));
  const library = luaLibrary();
  const elf = join(folder, 'fixture.elf');
  const sources = boardFiles(/\.[cS]$/);
  run(COMPILER, [
    ...C_OPTIONS,
    ...STRICT,
    `-I${luaSource()}`,
    `-I${BOARD}`,
    '-include',
    join(BOARD, 'lua-limits.h'),
    `-Wa,-I${folder}`,
    '-nostartfiles',
    '-specs=nosys.specs',
    '-Wl,--gc-sections',
    `-Wl,-Map=${join(folder, 'fixture.map')}`,
    `-T${join(BOARD, 'image.ld')}`,
    ...sources,
    library,
    '-lm',
    '-o',
    elf,
  ]);
  const bin = join(folder, 'fixture.bin');
  run('arm-none-eabi-objcopy', ['-O', 'binary', elf, bin]);
  const image = readFileSync(bin);
  image.writeUInt32LE(crcOfBoot2(image.subarray(0, BOOT2_BYTES - 4)), BOOT2_BYTES - 4);
  writeFileSync(bin, image);
  writeFileSync(join(folder, 'fixture.uf2'), uf2(image, FLASH_ADDRESS));
  writeFileSync(join(folder, 'size.txt'), sizeReport(elf, image.length));
  writeFileSync(join(folder, 'sources'), hash);
  rmSync(OUT, { recursive: true, force: true });
  renameSync(folder, OUT);
}

function boardFiles(names: RegExp): string[] {
  return readdirSync(BOARD)
    .filter((name) => names.test(name))
    .map((name) => join(BOARD, name));
}

function sizeReport(elf: string, imageBytes: number): string {
  const at = symbolsOf(elf);
  const between = (from: string, to: string) => (at.get(to) ?? NaN) - (at.get(from) ?? NaN);
  const chunk = between('firmware', 'firmware_end');
  const version = /Version: (.*)/.exec(readFileSync(dscFile(), 'utf8'))?.[1] ?? '?';
  return [
    `Lua            ${version} (Debian source package)`,
    `flash          ${imageBytes} of ${2 * 1024 * 1024} bytes`,
    `  byte code    ${chunk} bytes, its instructions in front`,
    `  the rest     ${imageBytes - chunk} bytes: board layer, Lua, C library`,
    `RAM            ${264 * 1024} bytes`,
    `  fixed data   ${(at.get('bss_end') ?? NaN) - 0x20000000} bytes`,
    `  heap         ${between('heap_start', 'heap_end')} bytes`,
    `  stack        ${between('stack_end', 'stack_top')} bytes`,
    '',
  ].join('\n');
}

function symbolsOf(elf: string): Map<string, number> {
  const text = execFileSync('arm-none-eabi-nm', [elf], { encoding: 'utf8' });
  return new Map(
    text
      .trim()
      .split('\n')
      .map((line) => line.split(' '))
      .map(([address, , name]) => [name, parseInt(address, 16)]),
  );
}

/** The Lua interpreter as a library for the board. */
function luaLibrary(): string {
  const limits = join(BOARD, 'lua-limits.h');
  const hash = createHash('sha256')
    .update(readFileSync(limits))
    .update(C_OPTIONS.join())
    .digest('hex')
    .slice(0, 16);
  const library = join(LUA, `board-${hash}.a`);
  if (existsSync(library)) return library;
  const folder = `${library}.${process.pid}`;
  mkdirSync(folder, { recursive: true });
  const files = readdirSync(luaSource()).filter(
    (name) => name.endsWith('.c') && !NOT_ON_THE_BOARD.includes(name),
  );
  for (const file of files) {
    run(COMPILER, [
      ...C_OPTIONS,
      '-DLUA_CORE=',
      `-I${luaSource()}`,
      '-include',
      limits,
      '-c',
      join(luaSource(), file),
      '-o',
      join(folder, `${file}.o`),
    ]);
  }
  run('arm-none-eabi-ar', ['rcs', `${folder}.a`, ...files.map((file) => join(folder, `${file}.o`))]);
  renameSync(`${folder}.a`, library);
  rmSync(folder, { recursive: true });
  return library;
}

/** The byte code compiler for this computer, from the same source: its numbers have the same sizes as the board's. */
function luaCompiler(): string {
  const luac = join(LUA, 'luac');
  if (existsSync(luac)) return luac;
  const sources = readdirSync(luaSource()).filter((name) => name.endsWith('.c') && name !== 'lua.c');
  const next = `${luac}.${process.pid}`;
  run('cc', ['-O1', ...sources.map((name) => join(luaSource(), name)), '-lm', '-o', next]);
  renameSync(next, luac);
  return luac;
}

function luaSource(): string {
  const source = join(LUA, 'source/src');
  if (existsSync(source)) return source;
  const folder = `${LUA}.${process.pid}`;
  run('bash', [join(BOARD, 'fetch-lua.sh'), folder]);
  if (existsSync(source)) rmSync(folder, { recursive: true });
  else renameSync(folder, LUA);
  return source;
}

function dscFile(): string {
  const [name] = readdirSync(LUA).filter((file) => file.endsWith('.dsc'));
  return join(LUA, name);
}

function hashOf(bundle: string): string {
  const hash = createHash('sha256')
    .update(bundle)
    .update(readFileSync(join(PROJECT_ROOT, 'firmware/image.ts')))
    .update(readFileSync(join(PROJECT_ROOT, 'firmware/byte-code.ts')));
  for (const name of readdirSync(BOARD).sort()) hash.update(name).update(readFileSync(join(BOARD, name)));
  return hash.digest('hex');
}

function run(program: string, options: readonly string[]): void {
  try {
    execFileSync(program, options, { stdio: ['ignore', 'pipe', 'pipe'] });
  } catch (error) {
    const { stdout, stderr } = error as { stdout: Buffer; stderr: Buffer };
    throw new Error(`${basename(program)} failed:\n${(String(stdout) + String(stderr)).slice(0, 4000)}`);
  }
}

function existsInPath(tool: string): boolean {
  return (process.env['PATH'] ?? '').split(':').some((folder) => existsSync(join(folder, tool)));
}
