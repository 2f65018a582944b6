/** Programs from outside that check what this project writes. Debian has them; elsewhere their tests are skipped by name. */
import { execFileSync, spawnSync } from 'node:child_process';

function has(program: string, ...args: readonly string[]): boolean {
  return spawnSync(program, args, { stdio: 'ignore' }).status === 0;
}

const inCi = process.env['CI'] === 'true';

/** In CI nothing is skipped: there a missing program fails the test. */
export const NO_PYTHON = !inCi && !has('python3', '--version');
export const NO_OPENSSL = !inCi && !has('openssl', 'version');

export function named(what: string, missing: boolean, packageName: string): string {
  return missing ? `${what} (skipped: needs the Debian package ${packageName}, see .ci/debian.sh)` : what;
}

/** Runs a program and gives what it printed; throws with its words when it fails. */
export function run(program: string, args: readonly string[], input?: string): string {
  return execFileSync(program, args, { encoding: 'utf8', ...(input === undefined ? {} : { input }) });
}

/** Exit code and words of the verifier that was written from FORMAT.md. */
export function verifyInPython(...args: readonly string[]): {
  readonly code: number | null;
  readonly said: string;
} {
  const { status, stdout } = spawnSync('python3', ['tests/outside/verify_job.py', ...args], {
    encoding: 'utf8',
  });
  return { code: status, said: stdout };
}
