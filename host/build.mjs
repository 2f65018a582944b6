/**
 * Builds the command line into build/host: one small entry and one chunk for each command, loaded when it is asked for.
 * Packages stay in node_modules, except the command line parser, which is in the entry so that --help starts fast.
 * Builds the page into build/page: one script, one style sheet.
 */
import { build } from 'esbuild';
import { copyFileSync, readFileSync, rmSync } from 'node:fs';

const { dependencies, version } = JSON.parse(readFileSync('package.json', 'utf8'));
const bundled = ['commander', 'pure-rand', 'zod'];

rmSync('build/host', { recursive: true, force: true });
// What decides, as one file that stands on its own: records keep it by its hash (host/procedure/rejudge.ts).
await build({
  entryPoints: ['host/procedure/rejudge.ts'],
  outfile: 'build/host/solver.js',
  bundle: true,
  minify: true,
  format: 'iife',
  globalName: 'solver',
  target: 'es2022',
  logLevel: 'warning',
});
await build({
  entryPoints: { swathplane: 'host/cli/swathplane.ts' },
  outdir: 'build/host',
  bundle: true,
  splitting: true,
  format: 'esm',
  platform: 'node',
  target: 'node20',
  external: Object.keys(dependencies).filter((name) => !bundled.includes(name)),
  define: { SWATHPLANE_VERSION: JSON.stringify(version) },
  banner: {
    js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);",
  },
  logLevel: 'warning',
});

rmSync('build/page', { recursive: true, force: true });
await build({
  entryPoints: { page: 'host/page/main.tsx' },
  outdir: 'build/page',
  bundle: true,
  minify: true,
  format: 'esm',
  platform: 'browser',
  target: 'es2022',
  jsx: 'automatic',
  jsxImportSource: 'preact',
  logLevel: 'warning',
});
for (const file of ['index.html', 'icon.svg']) copyFileSync(`host/page/${file}`, `build/page/${file}`);
