/** The words of the commands that show what jobs have been, here and in all bays: record, search, history, copies. */
import type { Command } from 'commander';
import type { CopiesOptions } from './copies';
import type { HistoryOptions } from './history';
import type { RecordOptions } from './record';
import type { SearchOptions } from './search';
import { database, json, log, whole, type Run } from './options';

export function addRecordCommands(program: Command, run: Run): void {
  program
    .command('record [job]')
    .description('write the full record of a job: PDF for an examiner, JSON for programs')
    .option('--to <file>', 'PDF to write; the JSON stands beside it')
    .option('--schema', 'print the JSON schema of the record')
    .addOption(log())
    .addOption(json())
    .action(async (job: string | undefined, options: RecordOptions) =>
      run(async () => (await import('./record')).record(job, options)),
    );

  program
    .command('search [words]')
    .description('find jobs, newest first, in this log or in the copies of all bays')
    .option('--serial <number>', 'serial number of the machine')
    .option('--model <name>', 'model')
    .option('--technician <name>', 'in whose hands it was')
    .option('--fixture <name>', 'read with this fixture')
    .option('--order <number>', 'work order')
    .option('--from <day>', 'opened on this day or later, as in 2026-01-31')
    .option('--to <day>', 'opened on this day or earlier')
    .option('--all-bays', 'in the copies of all bays, in the database of SWATHPLANE_DATABASE')
    .option('--limit <number>', 'at most so many', whole, 50)
    .addOption(database())
    .addOption(log())
    .addOption(json())
    .action(async (words: string | undefined, options: SearchOptions) =>
      run(async () => (await import('./search')).search(words, options)),
    );

  program
    .command('history')
    .description('jobs side by side: trends, and what has changed since a machine was here')
    .option('--serial <number>', 'of one machine')
    .option('--model <name>', 'of a model')
    .option('--technician <name>', 'of a technician')
    .option('--fixture <name>', 'of a fixture')
    .option('--csv <file>', 'also write every measure of every job, for a spreadsheet')
    .option('--svg <file>', 'also draw the trends')
    .option('--all-bays', 'from the copies of all bays, in the database of SWATHPLANE_DATABASE')
    .option('--limit <number>', 'at most so many jobs, the newest', whole, 100)
    .addOption(database())
    .addOption(log())
    .addOption(json())
    .action(async (options: HistoryOptions) => run(async () => (await import('./history')).history(options)));

  program
    .command('copies')
    .description("copy what is missing of this bay's log into the shop's database; list whose logs it holds")
    .option('--check', 'check chain and signatures of every copy')
    .option('--list', 'copy nothing')
    .addOption(database())
    .addOption(log())
    .addOption(json())
    .action(async (options: CopiesOptions) => run(async () => (await import('./copies')).copies(options)));
}
