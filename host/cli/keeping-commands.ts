/** The commands that keep records safe and checkable. */
import { InvalidArgumentError, type Command } from 'commander';
import type { CustomerOptions, ForgetOptions, LogOptions } from './keeping';
import type { KeysOptions } from './keys';
import type { VerifyCommandOptions } from './verify';
import { database, json, log, whole, writer, type Run } from './options';
import type { WitnessOptions } from './witness';

const head = (text: string) => {
  const [, sequence, hash] = /^(\d{1,15}):([0-9a-f]{16,64})$/.exec(text.toLowerCase()) ?? [];
  if (sequence === undefined || hash === undefined)
    throw new InvalidArgumentError(
      'A number and at least 16 digits of a hash are wanted, as in 120:0b46533b054aba4c.',
    );
  return { sequence: Number(sequence), hash };
};

export function addKeepingCommands(program: Command, run: Run): void {
  addVerification(program, run);
  addCopies(program, run);
  addBesideTheChain(program, run);
  addWitness(program, run);
}

function addVerification(program: Command, run: Run): void {
  program
    .command('verify [file]')
    .description(
      'check a log or an exported job: signatures, chain, numbers, clock, results; left out: the log',
    )
    .option('--no-solve', 'do not compute the results again')
    .option('--job <number...>', 'only the results of these jobs', (text, before: number[] = []) => [
      ...before,
      whole(text),
    ])
    .option('--head <number:hash>', 'an event that must be in it, as a printed sheet names it', head)
    .option('--witness <log...>', 'logs of other bays, which may have seen where this one ended')
    .option('--key <fingerprint>', 'the key that must have signed, as the shop gave it')
    .option(
      '--run-its-solver',
      'run the solver out of an exported file of another version: only if you trust its sender',
    )
    .addOption(log())
    .addOption(json())
    .action(async (file: string | undefined, options: VerifyCommandOptions) =>
      run(async () => (await import('./verify')).verify(file, options)),
    );
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

function addCopies(program: Command, run: Run): void {
  const command = (name: string, description: string) =>
    program.command(name).description(description).addOption(writer()).addOption(log()).addOption(json());
  command('export <job>', 'one job as one signed file, for an examiner or another shop')
    .option('--to <file>', 'file to write')
    .option('--customer', 'with the texts that name the customer')
    .action(async (job: string, options: LogOptions & { to?: string; customer?: boolean }) =>
      run(async () => (await import('./keeping')).exportOne(job, options)),
    );
  command('import <file>', 'take in the exported job of another shop, as foreign')
    .option('--by <name>', 'who does it', '')
    .action(async (file: string, options: LogOptions & { by: string }) =>
      run(async () => (await import('./keeping')).importOne(file, options)),
    );
  command('backup', 'a verified copy of the log and its photos; a job may be running')
    .requiredOption('--to <file>', 'file to write')
    .option('--with-key', 'with the private key')
    .action(async (options: LogOptions & { to: string; withKey?: boolean }) =>
      run(async () => (await import('./keeping')).backup(options)),
    );
  command('restore <backup>', 'make a log of a backup, where none stands')
    .option('--by <name>', 'who does it', '')
    .option(
      '--event-seen <number>',
      'the highest event of the lost log that a sheet or a database names',
      whole,
      0,
    )
    .option('--job-seen <number>', 'the highest job of it', whole, 0)
    .action(async (file: string, options: LogOptions & { by: string; eventSeen: number; jobSeen: number }) =>
      run(async () => (await import('./keeping')).restoreFrom(file, options)),
    );
}

function addWitness(program: Command, run: Run): void {
  program
    .command('witness [logs...]')
    .description("sign where other bays' logs end: from their files, or from the shop's database")
    .addOption(database())
    .addOption(writer())
    .addOption(log())
    .addOption(json())
    .action(async (files: string[], options: WitnessOptions) =>
      run(async () => (await import('./witness')).witness(files, options)),
    );
}

function addBesideTheChain(program: Command, run: Run): void {
  const command = (name: string, description: string) =>
    program.command(name).description(description).addOption(writer()).addOption(log()).addOption(json());
  command('customer <job>', 'whose machine it is: kept beside the signed record, so that it can be deleted')
    .option('--name <text>')
    .option('--phone <text>')
    .option('--email <text>')
    .option('--address <text>')
    .option('--note <text>')
    .action(async (job: string, options: CustomerOptions) =>
      run(async () => (await import('./keeping')).customer(job, options)),
    );
  command('photo <job> <files...>', 'attach pictures (JPEG, PNG) to a job, by their hash')
    .option('--by <name>', 'who does it', '')
    .action(async (job: string, files: string[], options: LogOptions & { by: string }) =>
      run(async () => (await import('./keeping')).photo(job, files, options)),
    );
  command('forget <job>', 'delete what names the customer; the signed record stands and says so')
    .option('--customer', 'name, phone, e-mail, address, note')
    .option('--complaint', 'the complaint, in the customer’s words')
    .option('--photos', 'all photos of the job')
    .option('--by <name>', 'who does it', '')
    .option('--reason <text>', 'why', '')
    .action(async (job: string, options: ForgetOptions) =>
      run(async () => (await import('./keeping')).forget(job, options)),
    );
}
