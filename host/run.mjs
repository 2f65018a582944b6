/** Runs a TypeScript file of this project: `node host/run.mjs tests/bench/solver.ts --json`. Node 20 does not by itself. */
import { build } from 'esbuild';
import { mkdirSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [file, ...args] = process.argv.slice(2);
if (file === undefined) throw new Error('usage: node host/run.mjs FILE.ts [arguments]');
const outfile = resolve('build/run', file.replaceAll('/', '-').replace(/\.ts$/, '.mjs'));
mkdirSync('build/run', { recursive: true });
await build({
  entryPoints: [file],
  outfile,
  bundle: true,
  format: 'esm',
  platform: 'node',
  target: 'node20',
  packages: 'external',
  define: { SWATHPLANE_VERSION: '"source"' },
  logLevel: 'warning',
  sourcemap: 'inline',
});
process.argv = [process.argv[0], file, ...args];
await import(pathToFileURL(outfile).href);
