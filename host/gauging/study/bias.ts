/**
 * Do several fixtures read alike? Each part's mean by each fixture, less the mean of all fixtures on that part; Student's t
 * shows whether a fixture is off. Method: NIST/SEMATECH e-Handbook of Statistical Methods, 2.6.1 (bias of several gauges).
 */
import { studentBelow, studentQuantile } from '../../../protocol/solver';
import { numberedError } from '../../errors/errors';
import { meanOf, standardDeviation } from '../statistics/spread';
import { studyTable, type StudyReading } from './readings';

export interface Offset {
  readonly name: string;
  /** Mean difference and its standard deviation from part to part. */
  readonly mean: number;
  readonly sd: number;
  readonly standardUncertainty: number;
  readonly degreesOfFreedom: number;
  readonly t: number;
  /** Probability of a t as great without any difference. */
  readonly p: number;
  readonly critical: number;
  readonly differs: boolean;
  /** Change of the difference for each unit of the part's mean: a difference in gain. Left out below three parts. */
  readonly slope?: number;
}

export interface BiasStudy {
  readonly parts: readonly string[];
  readonly fixtures: readonly string[];
  /** Each fixture against the mean of all. */
  readonly offsets: readonly Offset[];
  /** Each pair: the first less the second. */
  readonly pairs: readonly Offset[];
}

/** `operator` of a reading is the fixture. Throws 470, 472 and 473. */
export function biasStudy(readings: readonly StudyReading[], confidence = 0.95): BiasStudy {
  const { design, parts, operators: fixtures, values } = studyTable(readings);
  if (fixtures.length < 2) throw numberedError('study too small', 'one fixture; at least two are wanted');
  if (design === 'nested')
    throw numberedError(
      'study not balanced',
      'the fixtures have read different parts; each has to read them all',
    );
  const means = values.map((byFixture) => byFixture.map(meanOf));
  const level = means.map(meanOf);
  const offsets = fixtures.map((name, j) =>
    offsetOf(
      name,
      means.map((m, i) => m[j] - level[i]),
      level,
      confidence,
    ),
  );
  const pairs = fixtures.flatMap((a, i) =>
    fixtures.slice(i + 1).map((b, k) =>
      offsetOf(
        `${a} less ${b}`,
        means.map((m) => m[i] - m[i + 1 + k]),
        level,
        confidence,
      ),
    ),
  );
  return { parts, fixtures, offsets, pairs };
}

/** Whether differences are 0 in the mean. At least two of them. */
export function offsetOf(
  name: string,
  differences: readonly number[],
  level: readonly number[],
  confidence: number,
): Offset {
  const n = differences.length;
  const mean = meanOf(differences);
  const sd = standardDeviation(differences);
  const standardUncertainty = sd / Math.sqrt(n);
  const t = mean / standardUncertainty;
  const critical = studentQuantile((1 + confidence) / 2, n - 1);
  const middle = meanOf(level);
  const across = level.reduce((sum, x) => sum + (x - middle) ** 2, 0);
  const slope = level.reduce((sum, x, i) => sum + (x - middle) * (differences[i] - mean), 0) / across;
  return {
    name,
    mean,
    sd,
    standardUncertainty,
    degreesOfFreedom: n - 1,
    t,
    p: 2 * studentBelow(-Math.abs(t), n - 1),
    critical,
    differs: Math.abs(t) > critical,
    ...(n > 2 && across > 0 ? { slope } : {}),
  };
}
