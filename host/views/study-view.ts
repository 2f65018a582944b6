/** A gauge study in words, tables and charts: what terminal, page and report show of it. */
import type { AverageRangeStudy } from '../gauging/study/average-range';
import type { BiasStudy, Offset } from '../gauging/study/bias';
import { studyTable, type StudyReading } from '../gauging/study/readings';
import {
  component,
  countingAnalysis,
  type Analysis,
  type Component,
  type VarianceStudy,
} from '../gauging/study/variance-study';
import { axisOver, type Chart, type Series } from './svg-chart';
import { significant, type Table } from './table';

export interface StudyView {
  readonly sentences: readonly string[];
  readonly tables: readonly Table[];
  readonly charts: readonly Chart[];
}

const NAMES: Record<Component['name'], string> = {
  gauge: 'gauge (repeatability and reproducibility)',
  repeatability: 'repeatability',
  reproducibility: 'reproducibility',
  operator: 'operator',
  interaction: 'operator with part',
  part: 'part to part',
  total: 'total',
};
const ORDER: readonly Component['name'][] = [
  'gauge',
  'repeatability',
  'reproducibility',
  'operator',
  'interaction',
  'part',
  'total',
];

export function varianceStudyView(study: VarianceStudy, readings: readonly StudyReading[]): StudyView {
  const used = countingAnalysis(study);
  const other = study.counts === 'with interaction' ? study.withoutInteraction : study.withInteraction;
  const otherName = study.counts === 'with interaction' ? 'without interaction' : 'with interaction';
  return {
    sentences: [
      sizeSentence(study),
      `Analysis of variance ${study.counts} (${study.because}).`,
      ...judgement(used),
    ],
    tables: [
      anovaTable(`Analysis of variance, ${study.counts}`, used),
      componentTable('Components', used, study),
      ...(other === undefined
        ? []
        : [
            anovaTable(`For comparison, ${otherName}`, other),
            componentTable(`Components, ${otherName}`, other, study),
          ]),
    ],
    charts: [componentChart(used), ...readingCharts(readings, study.options.nested)],
  };
}

/** What the MSA reference manual, 4th edition, calls acceptable: a guide, not a law. */
function judgement(analysis: Analysis): string[] {
  const gauge = component(analysis, 'gauge');
  if (gauge === undefined) return [];
  const share = gauge.tolerancePercent ?? gauge.studyPercent;
  const of = gauge.tolerancePercent === undefined ? 'of the spread of the study' : 'of the tolerance';
  const word =
    share < 10 ? 'small enough' : share <= 30 ? 'may do, depending on what it is used for' : 'too large';
  const { distinctCategories } = analysis;
  return [
    `The gauge takes ${significant(share, 4)} % ${of}: ${word} (guide of the MSA manual: below 10 %, up to 30 %).`,
    ...(distinctCategories === undefined
      ? []
      : [`It tells ${distinctCategories} categories of parts apart (guide of the MSA manual: at least 5).`]),
  ];
}

function sizeSentence({ design, parts, operators, trials, mean, options }: VarianceStudy): string {
  const tolerance = options.tolerance === undefined ? '' : `, tolerance ${options.tolerance}`;
  const own = design === 'nested' ? 'nested: ' : '';
  return `${own}${parts.length} parts, ${operators.length} ${operators.length === 1 ? 'operator' : 'operators'}, ${trials} ${trials === 1 ? 'trial' : 'trials'}; mean ${significant(mean, 6)}; spread counted as ${options.multiplier} standard deviations${tolerance}.`;
}

function anovaTable(title: string, { anova }: Analysis): Table {
  return {
    title,
    head: ['source', 'degrees of freedom', 'sum of squares', 'mean square', 'F', 'p'],
    rows: anova.map((r) => [
      r.source,
      `${r.degreesOfFreedom}`,
      significant(r.sumOfSquares, 7),
      r.source === 'total' ? '' : significant(r.meanSquare, 6),
      r.F === undefined ? '' : significant(r.F, 6),
      r.p === undefined ? '' : r.p < 0.00005 ? '< 0.0001' : r.p.toFixed(4),
    ]),
  };
}

function componentTable(title: string, analysis: Analysis, { options }: VarianceStudy): Table {
  const percent = (options.confidence * 100).toFixed(0);
  const withTolerance = options.tolerance !== undefined;
  const rows = ORDER.flatMap((name) => {
    const c = component(analysis, name);
    if (c === undefined) return [];
    return [
      [
        NAMES[name],
        significant(c.variance) + (c.negative === undefined ? '' : ' (came out negative)'),
        `${significant(c.interval[0])} to ${significant(c.interval[1])}`,
        c.contributionPercent.toFixed(2),
        significant(c.sd, 6),
        significant(c.spread),
        c.studyPercent.toFixed(2),
        ...(c.tolerancePercent === undefined ? [] : [c.tolerancePercent.toFixed(2)]),
      ],
    ];
  });
  return {
    title,
    head: [
      'component',
      'variance',
      `${percent} % interval`,
      '% contribution',
      'sd',
      `${options.multiplier} sd`,
      '% study',
      ...(withTolerance ? ['% tolerance'] : []),
    ],
    rows,
  };
}

export function averageRangeTable(study: AverageRangeStudy): Table {
  const row = (name: string, key: 'EV' | 'AV' | 'GRR' | 'PV') => [
    name,
    significant(study[key], 6),
    study.studyPercent[key].toFixed(2),
    ...(study.tolerancePercent === undefined ? [] : [study.tolerancePercent[key].toFixed(2)]),
  ];
  const { distinctCategories: categories } = study;
  return {
    title: `Average and range: mean range ${significant(study.meanRange)}${categories === undefined ? '' : `, ${categories} distinct categories`}; ranges up to ${significant(study.rangeLimit)} show by themselves${study.rangesBeyond.map((b) => `; part ${b.part} by ${b.operator} has ${significant(b.range)}`).join('')}`,
    head: ['', 'sd', '% study', ...(study.tolerancePercent === undefined ? [] : ['% tolerance'])],
    rows: [
      row('gauge (GRR)', 'GRR'),
      row('repeatability (EV)', 'EV'),
      row('reproducibility (AV)', 'AV'),
      row('part to part (PV)', 'PV'),
      ['total (TV)', significant(study.TV, 6), ''],
    ],
  };
}

export function biasView(study: BiasStudy, confidence: number): StudyView {
  const row = (o: Offset) => [
    o.name,
    significant(o.mean),
    significant(o.standardUncertainty),
    significant(o.t, 4),
    o.p.toFixed(4),
    o.differs ? 'differs' : 'no difference shown',
    significant(o.slope, 3),
  ];
  const head = [
    '',
    'mean difference',
    'u',
    't',
    'p',
    `at ${(100 * confidence).toFixed(0)} %`,
    'per unit of height',
  ];
  const off = study.pairs.filter((p) => p.differs);
  return {
    sentences: [
      `${study.fixtures.length} fixtures on ${study.parts.length} parts.`,
      off.length === 0
        ? 'No difference between fixtures is shown.'
        : `These read differently: ${off.map((p) => p.name).join('; ')}. Calibrate both before they share a machine.`,
    ],
    tables: [
      { title: 'Each fixture against the mean of all', head, rows: study.offsets.map(row) },
      { title: 'Pairs', head, rows: study.pairs.map(row) },
    ],
    charts: [],
  };
}

/** Lines that differ in pattern as well as in colour, for print without colour. */
const STYLES: readonly Pick<Series, 'dash' | 'colour'>[] = [
  { dash: '', colour: '#1d4d33' },
  { dash: '6 3', colour: '#b45f06' },
  { dash: '2 3', colour: '#0b5394' },
  { dash: '', colour: '#777777' },
];

function componentChart({ components }: Analysis): Chart {
  const shown = components.filter((c) => c.name !== 'total');
  const bars = shown.map((c, i): Series => {
    const at = i + 1;
    return {
      name: `${NAMES[c.name].replace(/ \(.*/, '')}: ${c.studyPercent.toFixed(1)} %`,
      dash: '',
      colour: STYLES[i % STYLES.length].colour,
      points: [
        [at - 0.3, 0],
        [at - 0.3, c.studyPercent],
        [at + 0.3, c.studyPercent],
        [at + 0.3, 0],
      ],
    };
  });
  return {
    title: 'Share of the spread of the study',
    xLabel: 'shares add in squares',
    yLabel: '%',
    x: {
      from: 0,
      to: shown.length + 1,
      ticks: shown.map((_, i) => i + 1),
      names: shown.map((c) =>
        c.name === 'reproducibility' ? 'reprod.' : c.name === 'repeatability' ? 'repeat.' : c.name,
      ),
    },
    y: { from: 0, to: 100, ticks: [0, 20, 40, 60, 80, 100] },
    series: bars,
  };
}

/** Means and ranges of every operator over the parts. */
function readingCharts(readings: readonly StudyReading[], nested: boolean): Chart[] {
  const { parts, operators, trials, values, design } = studyTable(readings, nested);
  const names = design === 'nested' ? values.map((_, i) => `${i + 1}`) : parts;
  const x = {
    from: 0.5,
    to: names.length + 0.5,
    ticks: names.map((_, i) => i + 1),
    names: names.map((n) => (n.length > 8 ? `${n.slice(0, 7)}…` : n)),
  };
  const lines = (of: (trials: readonly number[]) => number) =>
    operators.map((name, j): Series => ({
      ...STYLES[j % STYLES.length],
      name,
      dots: true,
      points: values.map((v, i) => [i + 1, of(v[j])]),
    }));
  const chart = (title: string, series: readonly Series[]): Chart => ({
    title,
    xLabel: 'part',
    yLabel: 'reading',
    x,
    y: axisOver(series.flatMap((s) => s.points.map((p) => p[1]))),
    series,
  });
  const mean = (t: readonly number[]) => t.reduce((a, b) => a + b, 0) / t.length;
  return [
    chart('Means by operator: parallel is good', lines(mean)),
    ...(trials < 2
      ? []
      : [
          chart(
            'Ranges of repeats by operator',
            lines((t) => Math.max(...t) - Math.min(...t)),
          ),
        ]),
  ];
}
