/** The commands about trust in the fixture: studies, charts, reference equipment, calibration, daily check. */
import { InvalidArgumentError, Option, type Command } from 'commander';
import type { ChartOptions } from './chart';
import type { StudyCommandOptions } from './study';

type Run = (command: () => Promise<number>) => Promise<void>;

const json = () => new Option('--json', 'print JSON instead of text');
const number = (low: number, high: number) => (text: string) => {
  const value = Number(text.replace(',', '.'));
  if (text.trim() === '' || !(value > low && value < high))
    throw new InvalidArgumentError(`A number between ${low} and ${high} is wanted.`);
  return value;
};
const confidence = () =>
  new Option('--confidence <share>', 'of intervals and tests').argParser(number(0.5, 1)).default(0.95);

export function addGaugingCommands(program: Command, run: Run): void {
  addStudy(program, run);
  addChart(program, run);
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
    .addOption(json())
    .addHelpText('after', STUDY_FORM)
    .action(async (file: string | undefined, options: StudyCommandOptions) =>
      run(async () => (await import('./study')).study(file, options)),
    );
  study
    .command('bias <file>')
    .description('do fixtures read alike? CSV: part,fixture,trial,value; exit code 1 when they do not')
    .addOption(confidence())
    .addOption(json())
    .action(async (file: string, options: { confidence: number; json?: boolean }) =>
      run(async () => (await import('./study')).studyBias(file, options)),
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

const STUDY_FORM = `
The file: one reading to a line, in any order of lines. Without a header the columns are part, operator, trial, value (or
part, operator, value); with one they may come in any order. Comma, semicolon or tab between columns; a decimal comma
with semicolons or tabs. Every operator reads every part equally often; parts that no two operators share are nested.`;
