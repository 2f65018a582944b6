/** Starts `writer-process.ts` as a real second process and reads what it prints from a file, which a kill cannot lose. */
import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { closeSync, openSync, readFileSync } from 'node:fs';
import { once } from 'node:events';
import { setTimeout as sleep } from 'node:timers/promises';
import { buildSync } from 'esbuild';

const program = buildSync({
  entryPoints: [new URL('writer-process.ts', import.meta.url).pathname],
  bundle: true,
  platform: 'node',
  format: 'esm',
  external: ['libsql'],
  write: false,
}).outputFiles[0]?.text;

export interface SecondProcess {
  readonly child: ChildProcess;
  /** Whole lines printed so far. */
  lines(): string[];
  /** Waits until at least so many lines are printed. */
  printed(count: number): Promise<void>;
  /** kill -9, and waits until the process is gone. */
  kill(): Promise<void>;
  /** Waits for the end. */
  ended(): Promise<void>;
}

export function startWriter(
  mode: 'hold' | 'write',
  path: string,
  writer: string,
  output: string,
): SecondProcess {
  const file = openSync(output, 'w');
  const child = spawn(process.execPath, ['--input-type=module', '-', mode, path, writer], {
    stdio: ['pipe', file, 'inherit'],
  });
  closeSync(file);
  child.stdin?.end(program);
  const gone = once(child, 'exit');
  const lines = () => readFileSync(output, 'utf8').split('\n').slice(0, -1);
  return {
    child,
    lines,
    async printed(count) {
      const deadline = Date.now() + 20_000;
      while (lines().length < count) {
        if (Date.now() > deadline || child.exitCode !== null)
          throw new Error(`printed only: ${lines().slice(-3).join('; ')}`);
        await sleep(5);
      }
    },
    async kill() {
      child.kill('SIGKILL');
      await gone;
    },
    async ended() {
      await gone;
    },
  };
}
