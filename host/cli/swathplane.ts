#!/usr/bin/env node
/** The command line. Every command loads its own code when it runs, so that --help costs no more than an empty start. */
import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import { numberedError } from '../errors/errors';
import type { BudgetOptions } from './budget';
import type { DemoOptions } from './demo';
import { reportAndExitCode } from './failure';
import type { FixtureOptions } from './fixture';
import type { JobOptions } from './job';
import type { MachinesOptions } from './machines';
import type { RecordsOptions } from './records';
import type { SheetOptions } from './sheet';
import type { SolveOptions } from './solve';

declare const SWATHPLANE_VERSION: string;

const json = () => new Option('--json', 'print JSON instead of text');
const log = () => new Option('--log <file>', 'the log of this bay').default('records/bay.swathplane-log');
const whole = (text: string) => {
  if (!/^\d{1,9}$/.test(text)) throw new InvalidArgumentError('A whole number is wanted.');
  return Number(text);
};

const program = new Command('swathplane')
  .description(
    'Levels a mower deck with a fixture on the blade tip, says how sure it is, and keeps the record.',
  )
  .version(SWATHPLANE_VERSION)
  .exitOverride()
  .configureOutput({ writeErr: () => {} })
  .addHelpText(
    'after',
    "\nExit codes: 0 pass or done, 1 not within limits, 2 can't tell yet, 3 an error with number and next step.",
  );

program
  .command('demo')
  .description('a complete levelling in a simulated shop: real firmware, real protocol, invented machine')
  .option('--seed <number>', 'another number, another machine, floor and technician', whole, 7)
  .option('--machine <name>', 'an invented machine; `swathplane machines` lists them', 'orrinshaw-106')
  .option('--folder <folder>', 'where log and sheet are written', 'records/demo')
  .addOption(json())
  .action(async (options: DemoOptions) => run(async () => (await import('./demo')).demo(options)));

program
  .command('job')
  .description('level a machine with a fixture on a port')
  .option('--machine <name or file>', 'machine profile, for a new job')
  .option(
    '--port <path>',
    'the port that the fixture is on; found by itself when only one fixture is plugged in',
  )
  .option('--serial <number>', 'serial number of the machine', '')
  .option('--order <number>', 'work order', '')
  .option('--technician <name>', 'who does it', '')
  .option('--bay <name>', 'name of this bay, under which it writes its log', 'bay 1')
  .option('--resume <job>', 'go on with an open job', whole)
  .addOption(log())
  .addOption(json())
  .action(async (options: JobOptions) => run(async () => (await import('./job')).job(options)));

program
  .command('records [job]')
  .description('list the jobs of a log, or show one')
  .option('--verify', 'check that nothing in the log was changed since it was written')
  .addOption(log())
  .addOption(json())
  .action(async (job: string | undefined, options: RecordsOptions) =>
    run(async () => (await import('./records')).records(job, options)),
  );

program
  .command('sheet <job>')
  .description('print the delivery sheet of a job as PDF')
  .option('--to <file>', 'file to write')
  .addOption(log())
  .addOption(json())
  .action(async (job: string, options: SheetOptions) =>
    run(async () => (await import('./sheet')).sheet(job, options)),
  );

program
  .command('solve <file>')
  .description('solve a file of readings (JSON in, JSON or text out)')
  .addOption(json())
  .addHelpText('after', () => SOLVE_FORM)
  .action(async (file: string, options: SolveOptions) =>
    run(async () => (await import('./solve')).solve(file, options)),
  );

program
  .command('fixture')
  .description('list ports, show a fixture, test it, make it ready for new firmware')
  .option('--port <path>', 'the port that the fixture is on')
  .option('--self-test', 'run its self test')
  .option('--update', 'restart it ready for new firmware')
  .addOption(json())
  .action(async (options: FixtureOptions) => run(async () => (await import('./fixture')).fixture(options)));

program
  .command('machines [machine]')
  .description('list machine profiles, or check and show one')
  .option('--schema', 'print the JSON schema of a profile')
  .addOption(json())
  .action(async (name: string | undefined, options: MachinesOptions) =>
    run(async () => (await import('./machines')).machines(name, options)),
  );

program
  .command('budget')
  .description("error budget of a machine's own sequence of readings, for three classes of distance sensor")
  .option('--machine <name or file>', 'machine profile', 'orrinshaw-106')
  .addOption(json())
  .action(async (options: BudgetOptions) => run(async () => (await import('./budget')).budget(options)));

const SOLVE_FORM = `
The file: {
  "machine": "a profile's name, a file name, or a whole profile",
  "readings": [ { "spindle": "left", "headingDeg": 90, "end": "A", "seating": 1, "placement": 1,
                  "heightMm": 78.3, "standardErrorMm": 0.02 }, ... ],
  "carrying": ["front left", ...]          hangers that carry; all when left out
  "widths": { "placementMm": 0.25, ... }   standard deviations that replace the assumed ones
}
Heights are of the cutting edge above the floor under it. Readings with one placement share one clamping.`;

async function run(command: () => Promise<number>): Promise<void> {
  process.exitCode = await command();
}

// A reader that has seen enough, as in `swathplane records | head`, is no error.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit();
});

try {
  await program.parseAsync();
} catch (error) {
  // Help and version come as such an error too, with exit code 0.
  const wrong = error instanceof CommanderError && error.exitCode !== 0;
  const said = wrong
    ? numberedError('command not understood', error.message.replace(/^error: /, ''), error)
    : error;
  if (wrong || !(error instanceof CommanderError)) {
    process.exitCode = reportAndExitCode(said, process.argv.includes('--json'));
  }
}
