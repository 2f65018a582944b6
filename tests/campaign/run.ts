/**
 * `npm run campaign -- --machines N --seed S [--only K] [--json] [--out FOLDER]`: random machines through the whole
 * procedure, in two worker processes. Same seed and same version: the same machines and the same figures.
 */
import { Command } from 'commander';
import { fork } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { campaignText, type Campaign } from './campaign-text';
import { figuresOf } from './figures';
import { byteStreamJob } from './byte-stream-job';
import { jobOf, machineOf, runMachine, sequenceOf, throughByteStream, type Row } from './one-machine';
import { plotsOf } from './plots';
import { storyOf } from './story';

const WORKERS = 2;
/** Machines handed to a worker at once. */
const CHUNK = 20;
const WORKER = '--worker';

interface Work {
  readonly seed: number;
  readonly numbers: readonly number[];
}

interface Done {
  readonly rows: readonly Row[];
  readonly cpuSeconds: number;
}

/** Takes machines from the parent process until it hangs up. */
function serve(): void {
  process.on('message', ({ seed, numbers }: Work) => {
    const before = process.cpuUsage();
    void (async () => {
      const rows: Row[] = [];
      for (const number of numbers) rows.push(await runMachine(machineOf(seed, number)));
      const { user, system } = process.cpuUsage(before);
      const done: Done = { rows, cpuSeconds: (user + system) / 1e6 };
      process.send?.(done);
    })();
  });
}

async function campaign(machines: number, seed: number): Promise<{ campaign: Campaign; rows: Row[] }> {
  const started = performance.now();
  const rows: Row[] = [];
  let next = 1;
  let cpuSeconds = 0;
  const take = (): Work | undefined => {
    if (next > machines) return undefined;
    const numbers = Array.from({ length: Math.min(CHUNK, machines - next + 1) }, (_, i) => next + i);
    next += numbers.length;
    return { seed, numbers };
  };
  await Promise.all(
    Array.from({ length: WORKERS }, async () => {
      const worker = fork(fileURLToPath(import.meta.url), [WORKER], { serialization: 'advanced' });
      const failed = new Promise<never>((_, reject) =>
        worker.once('exit', (code) => reject(new Error(`a worker ended with ${code ?? 'a signal'}`))),
      );
      failed.catch(() => {});
      for (let work = take(); work !== undefined; work = take()) {
        const done = new Promise<Done>((resolve) => worker.once('message', (d) => resolve(d as Done)));
        worker.send(work);
        const { rows: more, cpuSeconds: spent } = await Promise.race([done, failed]);
        rows.push(...more);
        cpuSeconds += spent;
        progress(rows.length, machines, started);
      }
      worker.disconnect();
    }),
  );
  if (process.stderr.isTTY) process.stderr.write('\n');
  rows.sort((a, b) => a.number - b.number);
  const populations = (['matched', 'mismatched'] as const).map((name) =>
    figuresOf(
      name,
      rows.filter((r) => r.population === name),
    ),
  );
  const wallSeconds = (performance.now() - started) / 1000;
  const byteStreamJobs = rows.filter((r) => r.byteStream).length;
  return { campaign: { machines, seed, wallSeconds, cpuSeconds, byteStreamJobs, populations }, rows };
}

function progress(done: number, of: number, started: number): void {
  const seconds = (performance.now() - started) / 1000;
  const left = (seconds / done) * (of - done);
  const line = `${done} of ${of} machines, ${seconds.toFixed(0)} s, ${left.toFixed(0)} s to go`;
  // A terminal shows every chunk on one line, a file one line for every tenth.
  if (process.stderr.isTTY) process.stderr.write(`\r${line}   `);
  else if (Math.floor((10 * done) / of) > Math.floor((10 * (done - CHUNK)) / of))
    process.stderr.write(`${line}\n`);
}

async function only(seed: number, number: number, json: boolean): Promise<void> {
  const machine = machineOf(seed, number);
  const sequence = sequenceOf(number);
  const row = await runMachine(machine);
  if (json || row.trouble !== undefined) return print(JSON.stringify(row, undefined, 2));
  const job = throughByteStream(number) ? await byteStreamJob(machine, sequence) : jobOf(machine, sequence);
  print(storyOf(machine, job, row).join('\n'));
}

const print = (text: string) => void process.stdout.write(`${text}\n`);

function whole(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 0) throw new Error(`not a whole number: ${text}`);
  return value;
}

if (process.argv.includes(WORKER)) serve();
else {
  const options = new Command('campaign')
    .option('--machines <count>', 'how many; half of each population', whole, 1000)
    .option('--seed <number>', 'of the campaign', whole, 1)
    .option('--only <number>', 'replay this machine and tell its story', whole)
    .option('--json', 'figures as JSON')
    .option('--out <folder>', 'where the pictures go', 'build/campaign')
    .parse()
    .opts<{ machines: number; seed: number; only?: number; json?: true; out: string }>();
  if (options.only !== undefined) await only(options.seed, options.only, options.json === true);
  else {
    const result = await campaign(options.machines, options.seed);
    mkdirSync(options.out, { recursive: true });
    for (const [name, svg] of Object.entries(plotsOf(result.rows)))
      writeFileSync(join(options.out, name), svg);
    const { campaign: figures } = result;
    print(options.json === true ? JSON.stringify(figures, undefined, 2) : campaignText(figures).join('\n'));
  }
}
