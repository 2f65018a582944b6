/** Gauge studies: files as shops write them, refusals by number, and intervals that cover what they should. */
import { describe, expect, test } from 'vitest';
import { NumberedError } from '../../../host/errors/errors';
import { biasStudy } from '../../../host/gauging/study/bias';
import { parseStudyCsv, parseValues } from '../../../host/gauging/study/parse-csv';
import type { StudyReading } from '../../../host/gauging/study/readings';
import {
  component,
  countingAnalysis,
  varianceStudy,
  type ComponentName,
} from '../../../host/gauging/study/variance-study';
import { seededRandom } from '../../../host/simulation/random';

const PLAIN =
  'p1,A,1,1.5\np1,A,2,1.6\np2,A,1,2.5\np2,A,2,2.4\np1,B,1,1.4\np1,B,2,1.5\np2,B,1,2.5\np2,B,2,2.6\n';
const wanted = parseStudyCsv(PLAIN, 'f');

describe('a file of readings', () => {
  test.each([
    [
      'byte order mark, header, Windows lines',
      `\ufeffpart,operator,trial,value\r\n${PLAIN.replaceAll('\n', '\r\n')}`,
    ],
    [
      'columns in another order and other words',
      `Value,Appraiser,Repeat,Part\n${wanted.map((r) => `${r.value},${r.operator},${r.trial},${r.part}`).join('\n')}`,
    ],
    ['semicolons and decimal commas', PLAIN.replaceAll(',', ';').replaceAll('.', ',')],
    [
      'tabs, quotes, an empty line and a remark',
      `# made up\n\n${PLAIN.replaceAll(',', '\t').replaceAll('p1', '"p1"')}`,
    ],
    [
      'no trial column: counted',
      `part,operator,value\n${wanted.map((r) => `${r.part},${r.operator},${r.value}`).join('\n')}`,
    ],
  ])('%s', (_, text) => {
    const byName = (a: StudyReading, b: StudyReading) => (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1);
    expect([...parseStudyCsv(text, 'f')].sort(byName)).toEqual([...wanted].sort(byName));
  });

  test.each([
    ['an empty file', '', 470],
    ['a header alone', 'part,operator,trial,value\n', 470],
    ['a word where a number belongs', PLAIN.replace('1.6', 'high'), 470],
    ['a missing value', PLAIN.replace('1.6', ''), 470],
    ['a line too short', PLAIN.replace('p1,A,2,1.6', 'p1,A'), 470],
    ['a column of another name', `part,operator,trial,colour\n${PLAIN}`, 470],
    ['the same trial twice', PLAIN.replace('p1,A,2', 'p1,A,1'), 470],
    ['UTF-16', PLAIN.split('').join('\0'), 470],
    ['an open quotation mark', PLAIN.replace('p1', '"p1'), 470],
    ['decimal commas between commas', PLAIN.replaceAll('.', ','), 471],
    ['both decimal signs', PLAIN.replaceAll(',', ';').replace('1.6', '1,6'), 471],
    ['a reading left out', PLAIN.replace('p2,B,2,2.6\n', ''), 472],
    ['bytes that are no UTF-8', PLAIN.replaceAll('A', 'J\ufffdrg'), 470],
    ['a number that no gauge shows', PLAIN.replace('1.6', '1e300'), 470],
    ['one name written in two ways', PLAIN.replace('p1,B', 'P1 ,B'), 470],
    ['one part', PLAIN.replaceAll(/p2.*\n/g, ''), 473],
    ['readings that are all alike', PLAIN.replaceAll(/[\d.]+$/gm, '2'), 473],
  ])('%s is refused by number', (_, text, number) => {
    const run = () => varianceStudy(parseStudyCsv(text, 'study.csv'));
    expect(run).toThrow(NumberedError);
    try {
      run();
    } catch (error) {
      expect((error as NumberedError).number).toBe(number);
    }
  });

  test('lists of values', () => {
    expect(parseValues('value\n1,5\n2\n'.replace(',', '.'), 'f')).toEqual([[1.5], [2]]);
    expect(parseValues('1;2,5\n3;4\n', 'f')).toEqual([
      [1, 2.5],
      [3, 4],
    ]);
  });
});

/** Readings with known variances of part, operator, interaction and repetition. */
function drawn(
  seed: number,
  sizes: readonly [number, number, number],
  sd: readonly number[],
  nested = false,
) {
  const random = seededRandom(seed);
  const [parts, operators, trials] = sizes;
  const own = () => Array.from({ length: parts }, () => random.normal(sd[0]));
  const shared = own();
  const readings: StudyReading[] = [];
  for (let o = 0; o < operators; o++) {
    const operator = random.normal(sd[1]);
    const part = nested ? own() : shared;
    for (let p = 0; p < parts; p++) {
      const interaction = random.normal(sd[2]);
      for (let t = 0; t < trials; t++) {
        const value = part[p] + operator + interaction + random.normal(sd[3]);
        readings.push({ part: nested ? `${o}-${p}` : `${p}`, operator: `${o}`, trial: `${t}`, value });
      }
    }
  }
  return readings;
}

describe('repeats that do not differ at all', () => {
  const without = (value: (p: number, o: number) => number) =>
    varianceStudy(
      [0, 1, 2, 3].flatMap((p) =>
        [0, 1, 2].flatMap((o) =>
          [1, 2].map((t) => ({ part: `${p}`, operator: `${o}`, trial: `${t}`, value: value(p, o) })),
        ),
      ),
    );

  test('an interaction beside them is certain, and kept', () => {
    const found = without((p, o) => p + 0.1 * o + ((p + o) % 2 === 0 ? 0.05 : 0));
    expect(found.counts).toBe('with interaction');
    const used = countingAnalysis(found);
    expect(component(used, 'repeatability')?.variance).toBe(0);
    expect(component(used, 'interaction')?.variance).toBeGreaterThan(0);
    expect(used.anova.find((r) => r.source === 'interaction')).toMatchObject({ p: 0 });
  });

  test('what rounding leaves is no spread', () => {
    const found = without((p, o) => 0.1 * p + 0.7 * o);
    expect(found.because).toContain('neither');
    const used = countingAnalysis(found);
    expect(component(used, 'repeatability')?.variance).toBe(0);
    // By hand: operator means 0.7 apart, so their variance is 0.49.
    expect(component(used, 'operator')?.variance).toBeCloseTo(0.49, 12);
  });
});

describe('variance components of simulated studies', () => {
  const RUNS = 600;
  const sd = [2, 0.6, 0.5, 0.4];
  const truth: Record<ComponentName, number> = {
    part: 4,
    operator: 0.36,
    interaction: 0.25,
    repeatability: 0.16,
    reproducibility: 0.61,
    gauge: 0.77,
    total: 4.77,
  };

  test('95 % intervals hold the truth in 92 to 98.5 % of studies, and means are right', () => {
    const found = Array.from({ length: RUNS }, (_, i) =>
      countingAnalysis(varianceStudy(drawn(i + 1, [8, 4, 3], sd), { interaction: 'keep' })),
    );
    for (const name of Object.keys(truth) as ComponentName[]) {
      const all = found.map((a) => component(a, name));
      const held = all.filter(
        (c) => c && c.interval[0] <= truth[name] && truth[name] <= c.interval[1],
      ).length;
      expect(held / RUNS, name).toBeGreaterThan(0.92);
      expect(held / RUNS, name).toBeLessThan(0.985);
      const mean = all.reduce((sum, c) => sum + (c?.negative ?? c?.variance ?? 0), 0) / RUNS;
      expect(Math.abs(mean / truth[name] - 1), name).toBeLessThan(0.1);
    }
  });

  test('nested parts are seen by their names, and their variances come out', () => {
    const found = Array.from({ length: RUNS }, (_, i) =>
      varianceStudy(drawn(i + 1, [5, 6, 3], [2, 1, 0, 0.4], true)),
    );
    expect(found[0]?.design).toBe('nested');
    for (const [name, variance] of [
      ['part', 4],
      ['operator', 1],
      ['repeatability', 0.16],
    ] as const) {
      const all = found.map((s) => component(countingAnalysis(s), name));
      const mean = all.reduce((sum, c) => sum + (c?.negative ?? c?.variance ?? 0), 0) / RUNS;
      expect(Math.abs(mean / variance - 1), name).toBeLessThan(0.15);
      const held = all.filter((c) => c && c.interval[0] <= variance && variance <= c.interval[1]).length;
      expect(held / RUNS, name).toBeGreaterThan(0.92);
    }
  });

  test('an interval of one mean square is the exact one (scipy.stats.chi2.ppf, 24 degrees of freedom)', () => {
    const study = varianceStudy(drawn(1, [4, 3, 3], sd), { interaction: 'keep' });
    const c = component(countingAnalysis(study), 'repeatability');
    expect((c?.interval[0] ?? 0) / (c?.variance ?? 1)).toBeCloseTo(24 / 39.36407702660391, 9);
    expect((c?.interval[1] ?? 0) / (c?.variance ?? 1)).toBeCloseTo(24 / 12.401150217444435, 9);
  });

  test('one operator, and one trial, say what cannot be learned', () => {
    const one = varianceStudy(drawn(3, [6, 1, 3], sd));
    expect(one.because).toContain('one operator');
    expect(component(countingAnalysis(one), 'operator')).toBeUndefined();
    const single = varianceStudy(drawn(3, [6, 3, 1], sd));
    expect(single.because).toContain('one trial');
    expect(single.withInteraction).toBeUndefined();
  });
});

test('two fixtures: an offset of 0.2 between them is found, none where there is none', () => {
  const random = seededRandom(5);
  const readings = Array.from({ length: 8 }, (_, p) =>
    ['A', 'B'].flatMap((operator) =>
      [1, 2, 3].map((trial) => ({
        part: `${p}`,
        operator,
        trial: `${trial}`,
        value: 50 + 5 * p + (operator === 'B' ? 0.2 : 0) + random.normal(0.05),
      })),
    ),
  ).flat();
  const [pair] = biasStudy(readings).pairs;
  expect(pair?.name).toBe('A less B');
  expect(Math.abs((pair?.mean ?? 0) + 0.2)).toBeLessThan(3 * (pair?.standardUncertainty ?? 0));
  expect(pair?.differs).toBe(true);
  const alike = biasStudy(readings.map((r) => (r.operator === 'B' ? { ...r, value: r.value - 0.2 } : r)));
  expect(alike.pairs[0]?.differs).toBe(false);
});
