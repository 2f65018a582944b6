/** The words of the commands that show what jobs have been: record. */
import { Option, type Command } from 'commander';
import type { RecordOptions } from './record';

type Run = (command: () => Promise<number>) => Promise<void>;

const json = () => new Option('--json', 'print JSON instead of text');
const log = () => new Option('--log <file>', 'the log of this bay').default('records/bay.swathplane-log');

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
}
