/**
 * Builds the firmware's Lua bundle, `build/firmware/fixture.lua`: `npm run build:firmware`. Transpiling takes seconds, so
 * the bundle is kept beside the hash of everything that it depends on, and only another hash builds it anew.
 * `npm run build:firmware -- pico` builds the image for RP2040 boards from it as well (image.ts).
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, readdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { buildImage } from './image';
import { PROJECT_ROOT, transpile } from './transpile';

/** Everything that the bundle's text depends on. */
const SOURCES = ['firmware', 'protocol/wire', 'protocol/solver', 'package-lock.json', 'tsconfig.json'];

/** Brings the bundle up to date and returns its text. Several processes may do so at once. */
export function buildFirmware(): string {
  const folder = join(PROJECT_ROOT, 'build/firmware');
  const bundleFile = join(folder, 'fixture.lua');
  const hashFile = join(folder, 'fixture.lua.sources');
  const hash = hashOfSources();
  if (existsSync(bundleFile) && existsSync(hashFile) && readFileSync(hashFile, 'utf8') === hash) {
    return readFileSync(bundleFile, 'utf8');
  }
  const bundle = transpile(join(PROJECT_ROOT, 'firmware/boards/lua/main.ts'));
  mkdirSync(folder, { recursive: true });
  replaceFile(bundleFile, bundle);
  replaceFile(hashFile, hash);
  return bundle;
}

function hashOfSources(): string {
  const hash = createHash('sha256');
  for (const file of SOURCES.flatMap(filesIn)) {
    hash
      .update(file)
      .update('\0')
      .update(readFileSync(join(PROJECT_ROOT, file)))
      .update('\0');
  }
  return hash.digest('hex');
}

function filesIn(source: string): string[] {
  if (/\.json$/.test(source)) return [source];
  return readdirSync(join(PROJECT_ROOT, source), { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.(ts|json)$/.test(name))
    .map((name) => join(source, name))
    .sort();
}

/** Whoever reads the file meanwhile sees the old one or the new one, whole. */
function replaceFile(file: string, text: string): void {
  const next = `${file}.${process.pid}`;
  writeFileSync(next, text);
  renameSync(next, file);
}

// Run as a program: esbuild puts this file and what it imports into one module.
if (/firmware[-/]build\.(ts|mjs)$/.test(process.argv[1] ?? '')) {
  const bundle = buildFirmware();
  console.log(`build/firmware/fixture.lua: ${bundle.length} bytes`);
  if (process.argv[2] === 'pico')
    console.log(`build/firmware/pico/fixture.uf2\n${buildImage(bundle).report}`);
}
