/** The firmware as `npm run build:firmware` left it. */
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const BUNDLE = 'build/firmware/fixture.lua';

let kept: string | undefined;

/** The Lua chunk, read once. It lies in the folder of the project, wherever this file was built to. */
export function firmwareBundle(): string {
  kept ??= readFileSync(bundleAbove(dirname(fileURLToPath(import.meta.url))), 'utf8');
  return kept;
}

function bundleAbove(folder: string): string {
  const file = join(folder, BUNDLE);
  if (existsSync(file)) return file;
  if (dirname(folder) === folder) throw new Error(`${BUNDLE} is missing: run \`npm run build:firmware\``);
  return bundleAbove(dirname(folder));
}
