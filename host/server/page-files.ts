/** The files of the page, as the build left them. They are read at the start and never by a name that somebody sends. */
import type { Hono } from 'hono';
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const FILES = {
  '/': ['index.html', 'text/html; charset=utf-8'],
  '/page.js': ['page.js', 'text/javascript; charset=utf-8'],
  '/page.css': ['page.css', 'text/css; charset=utf-8'],
  '/icon.svg': ['icon.svg', 'image/svg+xml'],
} as const;

export function pageFiles(app: Hono): void {
  const folder = builtPage(dirname(fileURLToPath(import.meta.url)));
  for (const [path, [file, type]] of Object.entries(FILES)) {
    const content = new Uint8Array(readFileSync(join(folder, file)));
    app.get(path, (c) => c.body(content, 200, { 'Content-Type': type }));
  }
}

/** It lies in the folder of the project, wherever this file was built to. */
function builtPage(above: string): string {
  const folder = join(above, 'build/page');
  if (existsSync(folder)) return folder;
  if (dirname(above) === above) throw new Error('build/page is missing: run `npm run build`');
  return builtPage(dirname(above));
}
