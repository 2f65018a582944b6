/** What `swathplane --help` costs beyond an empty start of Node: medians of alternating runs. */
import { spawnSync } from 'node:child_process';

export interface StartTimes {
  readonly emptyMs: number;
  readonly helpMs: number;
}

export function startTimes(runs: number): StartTimes {
  const time = (args: string[]) => {
    const started = performance.now();
    const { status } = spawnSync(process.execPath, args);
    if (status !== 0) throw new Error(`node ${args.join(' ')} ended with ${status}`);
    return performance.now() - started;
  };
  const empty: number[] = [];
  const help: number[] = [];
  for (let i = 0; i < runs; i += 1) {
    empty.push(time(['-e', '0']));
    help.push(time(['build/host/swathplane.js', '--help']));
  }
  return { emptyMs: median(empty), helpMs: median(help) };
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}
