/** The commands about trust in the fixture: studies, charts, reference equipment, calibration, daily check. */
import { InvalidArgumentError, Option, type Command } from 'commander';
import type { CalibrateOptions } from './calibrate';
import type { ChartOptions } from './chart';
import type { CheckOptions } from './check';
import type { EntryOptions, RegisterOptions } from './equipment';
import type { SessionOptions } from './gauging-set-up';
import type { StudyCommandOptions } from './study';
import type { PlanOptions } from './study-session';
import { json, log, whole, writer, type Run } from './options';

const number = (low: number, high: number) => (text: string) => {
  const value = Number(text.replace(',', '.'));
  if (text.trim() === '' || !(value > low && value < high))
    throw new InvalidArgumentError(`A number between ${low} and ${high} is wanted.`);
  return value;
};
const confidence = () =>
  new Option('--confidence <share>', 'of intervals and tests').argParser(number(0.5, 1)).default(0.95);

const volts = (text: string): [number, number] => {
  const [near, far, ...more] = text.split(',').map((v) => (v.trim() === '' ? NaN : Number(v)));
  const isVolts = (v: number) => v >= 0 && v <= 4.096;
  if (!isVolts(near) || !isVolts(far) || more.length > 0 || Math.abs(near - far) < 0.5)
    throw new InvalidArgumentError('Two voltages from 0 to 4.096 are wanted, 0.5 V apart: 0.6,3');
  return [near, far];
};
/** Of a command that takes readings with a fixture. */
const withSession = (command: Command) =>
  command
    .option('--port <path>', 'the port that the fixture is on; found by itself when only one is plugged in')
    .option('--simulated <seed>', 'try it with a simulated fixture; the record says so', whole)
    .option('--technician <name>', 'who does it', '')
    .option('--resume <session>', 'go on with an open session', whole)
    .addOption(writer())
    .addOption(log())
    .addOption(json());

export function addGaugingCommands(program: Command, run: Run): void {
  addStudy(program, run);
  addChart(program, run);
  addEquipment(program, run);
  addCalibrate(program, run);
  addCheck(program, run);
}

function addStudy(program: Command, run: Run): void {
  const study = program
    .command('study [file]')
    .enablePositionalOptions()
    .description('how alike technicians read the same tips: analyse a study (CSV: part,operator,trial,value)')
    .option('--tolerance <width>', 'whole width of the tolerance', number(0, 1e12))
    .option('--multiplier <k>', 'standard deviations that count as the spread: 6 or 5.15', number(0, 100), 6)
    .addOption(confidence())
    .addOption(
      new Option('--interaction <how>', 'test: kept when significant at --alpha')
        .choices(['test', 'keep', 'pool'])
        .default('test'),
    )
    .option('--alpha <p>', 'significance at which the interaction is kept', number(0, 1), 0.05)
    .option('--nested', 'parts of one name are different things for different operators')
    .addOption(new Option('--method <which>').choices(['variance', 'average-range', 'both']).default('both'))
    .option('--svg <file>', 'write pictures')
    .option('--csv <file>', 'write the tables of the result')
    .option('--readings <file>', 'write the readings, in the form that is read')
    .option('--session <number>', 'a study of the log instead of a file')
    .option('--list', 'the studies of the log')
    .addOption(log())
    .addOption(json())
    .addHelpText('after', STUDY_FORM)
    .action(
      async (
        file: string | undefined,
        options: StudyCommandOptions & { session?: string; list?: boolean; log: string },
      ) =>
        run(async () => {
          if (options.list === true) return (await import('./study-session')).listSessions('study', options);
          if (options.session !== undefined)
            return (await import('./study-session')).sessionStudy(options.session, options);
          return (await import('./study')).study(file, options);
        }),
    );
  const planned = (command: Command) =>
    command
      .option('--tips <names>', 'names of blade tips, comma between them', '')
      .option('--technicians <names>', 'names, comma between them', '')
      .option('--repeats <count>', 'clampings of each tip by each technician', whole, 3)
      .option('--seed <number>', 'another number, another order', whole, 1);
  planned(study.command('plan'))
    .description('the order of a study, drawn from a seed')
    .addOption(json())
    .action(async (options: PlanOptions) =>
      run(async () => (await import('./study-session')).planStudy(options)),
    );
  withSession(planned(study.command('take')))
    .description('take a study with the fixture: every clamping is asked for in a drawn order')
    .action(async (options: PlanOptions & SessionOptions) =>
      run(async () => (await import('./study-session')).takeStudy(options)),
    );
  study
    .command('accept <study>')
    .description('count with a study of the log (its number) or of a file (heights in mm) from now on')
    .option('--by <name>', 'who accepts it', '')
    .addOption(writer())
    .addOption(log())
    .addOption(json())
    .action(async (what: string, options: { by: string; bay: string; log: string; json?: boolean }) =>
      run(async () => (await import('./study-session')).acceptStudy(what, options)),
    );
  study
    .command('bias [file]')
    .description('do fixtures read alike? CSV: part,fixture,trial,value; exit code 1 when they do not')
    .option(
      '--sessions <numbers...>',
      'studies of the log instead, each taken with another fixture on the same tips',
    )
    .addOption(log())
    .addOption(confidence())
    .addOption(json())
    .action(
      async (
        file: string | undefined,
        options: { sessions?: string[]; log: string; confidence: number; json?: boolean },
      ) => run(async () => (await import('./study-session')).studyBias(file, options)),
    );
}

function addChart(program: Command, run: Run): void {
  program
    .command('chart <file>')
    .description('control chart of a list of values, run rules, and a test for an outlier')
    .addOption(
      new Option('--kind <kind>', 'range and sd take a subgroup on every line')
        .choices(['individuals', 'range', 'sd', 'ewma'])
        .default('individuals'),
    )
    .addOption(
      new Option('--rules <rules>')
        .choices(['western-electric', 'nelson', 'none'])
        .default('western-electric'),
    )
    .option('--lambda <weight>', 'ewma: weight of the newest value', number(0, 1.0000001), 0.2)
    .option('--target <value>', 'ewma: centre; left out: the mean', number(-1e12, 1e12))
    .option('--sigma <sd>', 'ewma: standard deviation of one value; left out: of the values', number(0, 1e12))
    .option('--alpha <p>', "significance of Grubbs' test", number(0, 1), 0.05)
    .option('--svg <file>', 'write pictures')
    .addOption(json())
    .action(async (file: string, options: ChartOptions) =>
      run(async () => (await import('./chart')).chart(file, options)),
    );
}

function addEquipment(program: Command, run: Run): void {
  const equipment = program
    .command('equipment')
    .enablePositionalOptions()
    .description('register of reference equipment; exit code 1 when an entry is overdue')
    .addOption(writer())
    .addOption(log())
    .addOption(json())
    .action(async (options: RegisterOptions) =>
      run(async () => (await import('./equipment')).showRegister(options)),
    );
  equipment
    .command('add')
    .description('enter a certificate; an entry of the same id is replaced and kept in the log')
    .requiredOption('--id <name>')
    .requiredOption(
      '--kind <kind>',
      'height master, gauge blocks, level, pull scale, tyre gauge, thermometer or ballast',
    )
    .requiredOption('--certificate <number>')
    .requiredOption('--laboratory <name>')
    .requiredOption('--date <day>', 'of the calibration, as in 2026-03-02')
    .requiredOption('--due <day>', 'last day on which it counts')
    .requiredOption('--uncertainty <U>', 'of the certificate, k = 2: mm, mm/m, N, kPa, degC or kg, by kind')
    .option(
      '--values <list>',
      'height master: low and high edge of the low head, then of the high head; gauge blocks: their lengths',
    )
    .option('--fixture <id>', 'of a height master: the fixture that lives in it')
    .addOption(writer())
    .addOption(log())
    .addOption(json())
    .action(async (options: EntryOptions) =>
      run(async () => (await import('./equipment')).addEquipment(options)),
    );
  equipment
    .command('withdraw <id>')
    .description('take an entry out of use')
    .requiredOption('--reason <text>')
    .addOption(writer())
    .addOption(log())
    .addOption(json())
    .action(async (id: string, options: RegisterOptions & { reason: string }) =>
      run(async () => (await import('./equipment')).withdrawEquipment(id, options)),
    );
}

function addCalibrate(program: Command, run: Run): void {
  const calibrate = withSession(program.command('calibrate').enablePositionalOptions())
    .description('calibrate a fixture on its height master, write it and print the in-house record')
    .option('--days <count>', 'for which it counts', whole, 365)
    .option('--temperature', 'read some heights again where it is warmer or colder: what temperature does')
    .option(
      '--volts <near,far>',
      'for a fixture that holds no calibration: what its sensor gives the converter at either end of its span',
      volts,
    )
    .option('--to <file>', 'PDF to write')
    .option('--list', 'the calibrations of the log')
    .action(async (options: CalibrateOptions & { list?: boolean }) =>
      run(async () => {
        const { calibrateFixture, listCalibrations } = await import('./calibrate');
        return options.list === true ? listCalibrations(options) : calibrateFixture(options);
      }),
    );
  calibrate
    .command('record <session>')
    .description('show a calibration of the log and print its record')
    .option('--to <file>', 'PDF to write')
    .addOption(log())
    .addOption(json())
    .action(async (session: string, options: { log: string; to?: string; json?: boolean }) =>
      run(async () => (await import('./calibrate')).printCalibration(session, options)),
    );
}

function addCheck(program: Command, run: Run): void {
  const check = withSession(program.command('check').enablePositionalOptions())
    .description('daily check of a fixture on its height master; exit code 1 when it is out of control')
    .option('--svg <file>', 'write the charts')
    .option('--list', 'the checks of the log')
    .action(async (options: CheckOptions & { list?: boolean }) =>
      run(async () =>
        options.list === true
          ? (await import('./study-session')).listSessions('check', options)
          : (await import('./check')).checkFixture(options),
      ),
    );
  check
    .command('show [fixture]')
    .description('charts of the daily checks of the log; exit code 1 when one is out of control or overdue')
    .option('--svg <file>', 'write the charts')
    .addOption(log())
    .addOption(json())
    .action(async (fixture: string | undefined, options: { log: string; svg?: string; json?: boolean }) =>
      run(async () => (await import('./check')).showChecks(fixture, options)),
    );
}

const STUDY_FORM = `
The file: one reading to a line, in any order of lines. Without a header the columns are part, operator, trial, value (or
part, operator, value); with one they may come in any order. Comma, semicolon or tab between columns; a decimal comma
with semicolons or tabs. Every operator reads every part equally often; parts that no two operators share are nested.`;
