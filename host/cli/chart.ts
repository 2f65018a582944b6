/** Control charts of any list of values: individuals, subgroups, EWMA, run rules, and a test for an outlier. */
import { numberedError } from '../errors/errors';
import { ewmaChart, individualsChart, subgroupCharts, type Chart } from '../gauging/statistics/control-chart';
import { grubbs } from '../gauging/statistics/grubbs';
import { NELSON, RUN_RULES, runSignals, WESTERN_ELECTRIC } from '../gauging/statistics/run-rules';
import { meanOf, standardDeviation } from '../gauging/statistics/spread';
import { parseValues } from '../gauging/study/parse-csv';
import { controlChartPicture } from '../views/control-chart-view';
import { svgCharts } from '../views/svg-chart';
import { significant } from '../views/table';
import { print, printJson, readIn, writeOut } from './output';

export interface ChartOptions {
  readonly kind: 'individuals' | 'range' | 'sd' | 'ewma';
  readonly rules: 'western-electric' | 'nelson' | 'none';
  readonly lambda: number;
  readonly target?: number;
  readonly sigma?: number;
  readonly alpha: number;
  readonly svg?: string;
  readonly json?: boolean;
}

/** Exit code 1 when a point lies beyond a limit or a rule fires. Errors: 405, 471, 473 and 474. */
export function chart(file: string, options: ChartOptions): Promise<number> {
  const groups = parseValues(readIn(file), file);
  const charts = chartsOf(groups, options);
  const [main] = Object.values(charts) as [Chart];
  const scores = main.points.map((p) => (p - main.centre) / main.sigma);
  const rules = { 'western-electric': WESTERN_ELECTRIC, nelson: NELSON, none: [] }[options.rules];
  // Neighbouring averages of an EWMA chart are alike by themselves: only its limits count.
  const signals = options.kind === 'ewma' ? [] : runSignals(scores, rules);
  const single = groups.every((g) => g.length === 1) ? groups.map((g) => g[0]) : undefined;
  const outliers =
    single === undefined
      ? undefined
      : {
          largest: grubbs(single, 'largest', options.alpha),
          smallest: grubbs(single, 'smallest', options.alpha),
          either: grubbs(single, 'either', options.alpha),
        };
  if (options.svg !== undefined) {
    const pictures = Object.entries(charts).map(([name, c]) => controlChartPicture(NAMES[name] ?? name, c));
    writeOut(options.svg, Buffer.from(svgCharts(pictures)));
  }
  if (options.json === true) printJson({ charts, signals, grubbs: outliers });
  else {
    print(
      ...Object.entries(charts).flatMap(([name, c]) => chartText(NAMES[name] ?? name, c)),
      ...signals.map((s) => `point ${s.at + 1}: ${RUN_RULES[s.rule]} (${s.rule})`),
      ...(outliers?.either === undefined
        ? []
        : [
            `Grubbs: G ${significant(outliers.either.G)}, critical ${significant(outliers.either.critical)} (either side, ${options.alpha}): value ${outliers.either.suspect + 1} ${outliers.either.isOutlier ? 'is an outlier' : 'is none'}`,
          ]),
      ...(options.svg === undefined ? [] : [`Written: ${options.svg}`]),
    );
  }
  const beyond = Object.values(charts).some((c) => c.beyond.length > 0);
  return Promise.resolve(beyond || signals.length > 0 ? 1 : 0);
}

const NAMES: Readonly<Record<string, string>> = {
  readings: 'individuals',
  movingRanges: 'moving ranges',
  means: 'means',
  spreads: 'spreads within',
  ewma: 'moving average, exponentially weighted',
};

function chartsOf(groups: readonly (readonly number[])[], options: ChartOptions): Record<string, Chart> {
  if (groups.length < 2) throw numberedError('study too small', 'one line of values; a chart needs two');
  const size = groups[0].length;
  const odd = groups.findIndex((g) => g.length !== size);
  if (odd >= 0)
    throw numberedError(
      'chart unreadable',
      `row ${odd + 1} has ${groups[odd].length} values, others ${size}`,
    );
  if (options.kind === 'range' || options.kind === 'sd') {
    if (size < 2)
      throw numberedError('study too small', 'subgroups of one; write two or more values on a line');
    return { ...subgroupCharts(groups, options.kind) };
  }
  if (size > 1)
    throw numberedError('chart unreadable', `${size} values on a line; --kind range or sd takes subgroups`);
  const values = groups.map((g) => g[0]);
  if (options.kind === 'individuals') return { ...individualsChart(values) };
  const { lambda, target = meanOf(values), sigma = standardDeviation(values) } = options;
  return { ewma: ewmaChart(values, { lambda, target, sigma }) };
}

function chartText(name: string, c: Chart): string[] {
  const last = c.points.length - 1;
  return [
    `${name}: centre ${significant(c.centre, 6)}, limits ${significant(c.lower[last], 6)} to ${significant(c.upper[last], 6)}, sd of a point ${significant(c.sigma)}; ${c.beyond.length === 0 ? 'all points inside' : `beyond: ${c.beyond.map((i) => i + 1).join(', ')}`}`,
  ];
}
