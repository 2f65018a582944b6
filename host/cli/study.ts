/** Gauge studies from a file or from the log: analysis, bias between fixtures, and out again as CSV or pictures. */
import { averageRangeStudy } from '../gauging/study/average-range';
import { biasStudy } from '../gauging/study/bias';
import { parseStudyCsv } from '../gauging/study/parse-csv';
import type { StudyReading } from '../gauging/study/readings';
import {
  countingAnalysis,
  varianceStudy,
  type StudyOptions,
  type VarianceStudy,
} from '../gauging/study/variance-study';
import { numberedError } from '../errors/errors';
import { barText, tableText } from '../terminal/table-text';
import { averageRangeTable, biasView, varianceStudyView, type StudyView } from '../views/study-view';
import { svgCharts } from '../views/svg-chart';
import { tableCsv } from '../views/table';
import { print, printJson, readIn, writeOut } from './output';

export interface StudyCommandOptions extends StudyOptions {
  readonly method: 'variance' | 'average-range' | 'both';
  /** Files to write: pictures, components, readings. */
  readonly svg?: string;
  readonly csv?: string;
  readonly readings?: string;
  readonly json?: boolean;
}

export function readStudy(file: string): StudyReading[] {
  return parseStudyCsv(readIn(file), file);
}

/** Errors: 405, 470 to 473. */
export function study(file: string | undefined, options: StudyCommandOptions): Promise<number> {
  if (file === undefined)
    throw numberedError('command not understood', 'a study needs a file; --help shows more');
  return analyse(readStudy(file), options);
}

/** Errors: 472 and 473. */
export function analyse(readings: readonly StudyReading[], options: StudyCommandOptions): Promise<number> {
  const variance =
    options.method === 'average-range' ? undefined : varianceStudy(readings, studyOptions(options));
  const ranges =
    options.method === 'average-range'
      ? averageRangeStudy(readings, studyOptions(options))
      : comparison(readings, variance, options);
  const view: StudyView =
    variance === undefined
      ? { sentences: [], tables: [], charts: [] }
      : varianceStudyView(variance, readings);
  const tables = [...view.tables, ...(ranges === undefined ? [] : [averageRangeTable(ranges)])];
  const written: string[] = [];
  const write = (to: string | undefined, content: string) => {
    if (to === undefined) return;
    writeOut(to, Buffer.from(content));
    written.push(to);
  };
  write(options.svg, svgCharts(view.charts));
  write(options.csv, tables.map((t) => tableCsv(t)).join('\r\n'));
  write(options.readings, readingsCsv(readings));
  if (options.json === true) printJson({ variance, averageRange: ranges, written });
  else {
    const bars =
      variance === undefined
        ? []
        : countingAnalysis(variance)
            .components.filter((c) => c.name !== 'total')
            .map((c) => ({ name: c.name, value: c.studyPercent }));
    print(
      ...view.sentences,
      ...tables.flatMap((t) => ['', ...tableText(t)]),
      ...(bars.length === 0
        ? []
        : ['', '% of the spread of the study (shares add in squares)', ...barText(bars)]),
      ...written.map((file) => `Written: ${file}`),
    );
  }
  return Promise.resolve(0);
}

/** Errors: 472 and 473. */
export function showBias(
  readings: readonly StudyReading[],
  { confidence, json }: { readonly confidence: number; readonly json?: boolean },
): Promise<number> {
  const found = biasStudy(readings, confidence);
  const view = biasView(found, confidence);
  if (json === true) printJson(found);
  else print(...view.sentences, ...view.tables.flatMap((t) => ['', ...tableText(t)]));
  return Promise.resolve(found.pairs.some((p) => p.differs) ? 1 : 0);
}

export function readingsCsv(readings: readonly StudyReading[]): string {
  return tableCsv({
    head: ['part', 'operator', 'trial', 'value'],
    rows: readings.map((r) => [r.part, r.operator, r.trial, `${r.value}`]),
  });
}

/** Average and range beside the variances where it can be had. */
function comparison(
  readings: readonly StudyReading[],
  variance: VarianceStudy | undefined,
  options: StudyCommandOptions,
) {
  const canBe = variance?.design === 'crossed' && variance.trials > 1;
  return options.method === 'both' && canBe ? averageRangeStudy(readings, studyOptions(options)) : undefined;
}

function studyOptions(options: StudyCommandOptions): StudyOptions {
  const { tolerance, multiplier, confidence, interaction, alpha, nested } = options;
  const given = { tolerance, multiplier, confidence, interaction, alpha, nested };
  return Object.fromEntries(Object.entries(given).filter(([, v]) => v !== undefined));
}
