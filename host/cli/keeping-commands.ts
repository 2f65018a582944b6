/** The commands that keep records safe and checkable: keys. */
import { Option, type Command } from 'commander';
import type { KeysOptions } from './keys';

type Run = (command: () => Promise<number>) => Promise<void>;

const json = () => new Option('--json', 'print JSON instead of text');
const log = () => new Option('--log <file>', 'the log of this bay').default('records/bay.swathplane-log');
const writer = () =>
  new Option('--bay <name>', 'name of this bay, under which it writes its log').default('bay 1');

export function addKeepingCommands(program: Command, run: Run): void {
  program
    .command('keys')
    .description('show the key that signs this log, by its fingerprint; change it')
    .option('--change <reason>', 'a new key signs from now on; the old one signs the change and is erased')
    .option('--lost <reason>', 'the key file is lost: a new key goes on, which the old one cannot vouch for')
    .addOption(writer())
    .addOption(log())
    .addOption(json())
    .action(async (options: KeysOptions) => run(async () => (await import('./keys')).keys(options)));
}
