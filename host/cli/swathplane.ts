#!/usr/bin/env node
/** The command line. Every command loads its own code when it runs, so that --help costs no more than an empty start. */
import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import { numberedError } from '../errors/errors';
import type { BayOptions } from './bay';
import type { BudgetOptions } from './budget';
import type { CorrectOptions } from './correct';
import type { DemoOptions } from './demo';
import { reportAndExitCode } from './failure';
import { BAY_FORM, SOLVE_FORM } from './forms';
import type { FixtureOptions } from './fixture';
import { addGaugingCommands } from './gauging-commands';
import { addKeepingCommands } from './keeping-commands';
import type { JobOptions } from './job';
import type { MachinesOptions, NewMachineOptions } from './machines';
import type { PeopleOptions, PersonOptions } from './people';
import { addRecordCommands } from './record-commands';
import type { RecordsOptions } from './records';
import type { SequenceOptions } from './sequence';
import { addServeCommand } from './serve-command';
import type { SheetOptions } from './sheet';
import type { SolveOptions } from './solve';
import { checklist, database, json, log, plate, seconds, whole, writer } from './options';

declare const SWATHPLANE_VERSION: string;

/** U (k = 2) of a height read with a ruler on one's knees: common practice, no source. */
const RULER_MM = 1.5;
const positive = (text: string) => {
  if (!/^\d{1,2}(\.\d+)?$/.test(text) || !(Number(text) > 0))
    throw new InvalidArgumentError('A number of millimetres is wanted.');
  return Number(text);
};
const use = () =>
  new Option('--use <use>', 'what the job is for')
    .choices(['inspection', 'levelling', 'diagnosis', 'warranty'])
    .default('levelling');

const millimetres = (text: string) => {
  if (!/^-?\d{1,4}(\.\d+)?$/.test(text)) throw new InvalidArgumentError('A number is wanted.');
  return Number(text);
};
/** Dimensions carry their unit in the file and not on the command line. */
const IN_MM = [
  'bladeLength',
  'spacing',
  'stagger',
  'wheelbase',
  'frontTrack',
  'rearTrack',
  'cutHeight',
  'deckAhead',
  'uncertainty',
];
const tapeOptions = (options: Record<string, unknown>): NewMachineOptions =>
  Object.fromEntries(Object.entries(options).map(([k, v]) => [IN_MM.includes(k) ? `${k}Mm` : k, v]));

const program = new Command('swathplane')
  .description(
    'Levels a mower deck with a fixture on the blade tip, says how sure it is, and keeps the record.',
  )
  .version(SWATHPLANE_VERSION)
  // A command and its subcommands may have options of one name.
  .enablePositionalOptions()
  .exitOverride()
  .configureOutput({ writeErr: () => {} })
  .addHelpText(
    'after',
    "\nExit codes: 0 pass or done, 1 not within limits, 2 can't tell yet, 3 an error with number and next step.",
  );

program
  .command('demo')
  .description('a complete job in a simulated shop: real firmware, real protocol, invented machine')
  .addOption(use())
  .option('--seed <number>', 'another number, another machine, floor and technician', whole, 1)
  .option('--machine <name>', 'an invented machine; `swathplane machines` lists them', 'orrinshaw-106')
  .option('--height <mm>', 'cut height that it is levelled at, where not the profile’s', whole)
  .option('--taped', 'the geometry is only known from a tape, to 10 mm; the simulated machine differs')
  .option('--folder <folder>', 'where log and sheet are written', 'records/demo')
  .option('--surveyed', 'the simulated floor is surveyed before the job')
  .addOption(json())
  .action(async (options: DemoOptions) => run(async () => (await import('./demo')).demo(options)));

program
  .command('job')
  .description('inspect, level or diagnose a machine with a fixture on a port')
  .addOption(use())
  .option('--walk-up', 'a machine never seen before: five things taken with a tape are asked for')
  .option('--batch', 'one machine of the model after the other; unchanged answers carry over')
  .addOption(checklist())
  .option(
    '--ruler [mm]',
    'no fixture: heights are read with a ruler and typed in, with this U (k = 2)',
    (text) => positive(text),
  )
  .option('--machine <name or file>', 'machine profile, for a new job')
  .option('--height <mm>', 'cut height that it is levelled at, where not the profile’s', whole)
  .option(
    '--port <path...>',
    'the port that the fixture is on, or two for two fixtures; found by itself when only one is plugged in',
  )
  .option('--serial <number>', 'serial number of the machine', '')
  .option('--order <number>', 'work order', '')
  .option('--technician <name>', 'who does it', '')
  .option('--badge <code>', 'who does it, by a registered badge or PIN')
  .addOption(writer())
  .option('--resume <job>', 'go on with an open job', whole)
  .addOption(
    new Option(
      '--sequence <which>',
      'quick: what is expected to decide; full: every tip; left out: as the use has it',
    ).choices(['quick', 'full']),
  )
  .addOption(plate())
  .addOption(seconds())
  .addOption(log())
  .addOption(database())
  .addOption(json())
  .action(async (options: Omit<JobOptions, 'ruler'> & { ruler?: number | true }) =>
    run(async () => {
      const { ruler, ...rest } = options;
      const withRuler = ruler === undefined ? rest : { ...rest, ruler: ruler === true ? RULER_MM : ruler };
      return (await import('./job')).job(withRuler);
    }),
  );

addServeCommand(program, run);

program
  .command('correct <job>')
  .description("put a job's record right, hand it over, open it again: by further events, nothing is changed")
  .option('--restore <capture>', 'a reading that was set aside counts again', whole)
  .option('--set-aside <capture>', 'a reading does not count', whole)
  .option('--tip <capture:spindle:end:heading>', 'what a reading was really of, as in 12:left:A:90')
  .option(
    '--turned <adjuster:turns>',
    "what was really turned since the last readings, as in 'rear left:1.5'",
  )
  .option('--item <id=answer>', 'another answer to an item: yes, no, not on this machine, a number, a note')
  .option('--claim <field=text>', 'another text for a field of the claim')
  .option('--hand-over <name>', 'who goes on with it')
  .option(
    '--off-the-machine <fixture>',
    'a fixture without a closing reading is in somebody’s hand; with --by',
  )
  .option('--give-up', 'the job ends without a result; its fixtures still take their closing readings')
  .option('--reopen', 'a closed job is opened again; with --by')
  .option('--read-again', 'with --reopen: the machine is back in a bay and is read once more')
  .option('--fixture <name>', 'whose capture is meant, where there are several')
  .option('--by <name>', 'who says so', '')
  .option('--reason <text>', 'why', '')
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .action(async (job: string, options: CorrectOptions) =>
    run(async () => (await import('./correct')).correct(job, options)),
  );

const peopleCommand = program
  .command('people')
  .description('who works here: names and roles; `people add` registers a badge or PIN')
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .action(async (options: PeopleOptions) => run(async () => (await import('./people')).people(options)));

peopleCommand
  .command('add <name>')
  .description('register somebody, or give somebody another badge, PIN or role')
  .requiredOption('--badge <code>', 'what the scanner types for the badge, or a PIN')
  .addOption(
    new Option('--role <role>', 'what they may do besides measuring')
      .choices(['technician', 'lead'])
      .default('technician'),
  )
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .action(async (name: string, options: PersonOptions) =>
    run(async () => (await import('./people')).addPerson(name, options)),
  );

program
  .command('checklist [file]')
  .description("check a shop's own list of things to look at, or print its form")
  .option('--schema', 'print the JSON schema of a checklist')
  .addOption(json())
  .action(async (file: string | undefined, options: { schema?: boolean; json?: boolean }) =>
    run(async () => (await import('./checklist')).checklist(file, options)),
  );

program
  .command('sequence')
  .description('which tips a job on a machine reads, what that takes, and how surely it decides')
  .requiredOption('--machine <name or file>', 'machine profile')
  .option('--full', 'every tip that can be reached, for a diagnosis')
  .option('--no-bend', 'level, rake and height only')
  .option('--floor <mm>', 'standard deviation of the floor; left out: an unsurveyed bay', positive)
  .addOption(seconds())
  .addOption(json())
  .action(async (options: SequenceOptions) =>
    run(async () => (await import('./sequence')).sequence(options)),
  );

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

const machines = program
  .command('machines [machine]')
  .enablePositionalOptions()
  .description('list machine profiles, or check and show one; `machines new` makes one from a tape')
  .option('--schema', 'print the JSON schema of a profile')
  .addOption(json())
  .action(async (name: string | undefined, options: MachinesOptions) =>
    run(async () => (await import('./machines')).machines(name, options)),
  );

machines
  .command('new [model]')
  .description('a profile for a machine never seen before, from five things taken with a tape')
  .option('--family <name>', 'how the deck is carried; `machines` lists families')
  .option('--blades <number>', '1 to 5', millimetres)
  .option('--blade-length <mm>', 'of one blade, tip to tip', millimetres)
  .option('--spacing <mm>', 'from spindle to spindle across the machine', millimetres)
  .option(
    '--stagger <mm>',
    'how far every second spindle from the left stands ahead; negative: behind',
    millimetres,
  )
  .option('--wheelbase <mm>', 'from the drive axle to the front axle', millimetres)
  .option('--front-track <mm>', 'between the middles of the front tyres; 0: one front wheel', millimetres)
  .option('--rear-track <mm>', 'between the middles of the rear tyres', millimetres)
  .option('--counter-clockwise', 'the blades turn that way seen from above; else clockwise')
  .option('--cut-height <mm>', 'that the owner uses most', millimetres)
  .option(
    '--deck-ahead <mm>',
    'from the drive axle to the middle of the spindles; left out: as usual',
    millimetres,
  )
  .option('--ground-plane <how>', 'pivoting front axle, or rigid four wheels; left out: as usual')
  .option('--timed', 'a belt couples the blades, which stand square to their neighbours')
  .option('--uncertainty <mm>', 'standard deviation of every dimension; left out: 10', millimetres)
  .option('--from <file>', 'the dimensions from a JSON file; options given besides replace them')
  .option('--to <file>', 'the profile to write; left out: the name of the model')
  .option('--schema', 'print the JSON schema of the file of dimensions')
  .addOption(json())
  .action(async (model: string | undefined, options: Record<string, unknown>) =>
    run(async () => (await import('./machines')).newMachine(model, tapeOptions(options))),
  );

program
  .command('budget')
  .description("error budget of a machine's own sequence of readings, for three classes of distance sensor")
  .option('--machine <name or file>', 'machine profile', 'orrinshaw-106')
  .addOption(json())
  .action(async (options: BudgetOptions) => run(async () => (await import('./budget')).budget(options)));

const bay = program.command('bay').description('what is known of the floor that machines stand on');

bay
  .command('survey <file>')
  .description('put in a survey: bay, points and readings of a level, from a JSON file')
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .addHelpText('after', () => BAY_FORM)
  .action(async (file: string, options: BayOptions) =>
    run(async () => (await import('./bay')).surveyBay(file, options)),
  );

bay
  .command('show [name]')
  .description('heights, slope, twist and shims, expiry, of every bay of the log or of one')
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .action(async (name: string | undefined, options: BayOptions) =>
    run(async () => (await import('./bay')).showBays(name, options)),
  );

bay
  .command('turn-round <first-job> <second-job>')
  .description(
    "the floor's part in level and rake, from one machine measured facing both ways on the same spots",
  )
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .action(async (first: string, second: string, options: BayOptions) =>
    run(async () => (await import('./bay')).turnBayRound(first, second, options)),
  );

bay
  .command('casters <checks...>')
  .description(
    'pull-scale forces that swing the casters, each check as shim:left:right (mm under the left, N, N)',
  )
  .option('--serial <number>', 'serial number of the machine', '')
  .addOption(writer())
  .addOption(log())
  .addOption(json())
  .action(async (checks: string[], options: BayOptions & { serial: string }) =>
    run(async () => (await import('./bay')).swingCasters(checks, options)),
  );

addGaugingCommands(program, run);
addKeepingCommands(program, run);
addRecordCommands(program, run);

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
