/** For vitest's `globalSetup`: firmware bundle and command line are up to date before any test starts. */
import { execFileSync } from 'node:child_process';
import { buildFirmware } from '../firmware/build';

export function setup(): void {
  buildFirmware();
  execFileSync(process.execPath, ['host/build.mjs'], { stdio: 'inherit' });
}
