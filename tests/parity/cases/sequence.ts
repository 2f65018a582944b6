/** Cases for what the solver says of readings before they are taken. */
import { solveTips } from '../../../protocol/solver';
import type { MeasureQuestion } from '../../../protocol/solver';
import type { Random } from '../../../host/simulation/random';
import * as example from '../../bench/example';
import type { Plain } from '../lua';
import { integerBetween, listOf, pick } from '../numbers';
import type { CasesByName } from './cases';

export const SEQUENCE_CASES: CasesByName = {
  acceptedShare: {
    generate: (random) => {
      const u = listOf(example.questions.length, () => random.between(0.1, 2));
      const covariance = u.flatMap((a, i) => u.map((b, j) => (i === j ? a * a : 0.3 * a * b)));
      return plain([example.questions, covariance, integerBetween(random, 1, 60)]);
    },
    count: 40,
  },
  planSequence: { generate: (random) => plain([readingTask(random)]), count: 3 },
  fullSequence: { generate: (random) => plain([readingTask(random)]), count: 10 },
  nextReadings: {
    generate: (random) => {
      const task = readingTask(random);
      const taken = readings(random, task.layout);
      return plain([task, taken, solveTips(task.layout, taken, task.widths, task.questions)]);
    },
    count: 6,
  },
  varianceFactor: {
    generate: (random) =>
      plain([{ chiSquare: random.between(0, 50), degreesOfFreedom: integerBetween(random, 0, 20) }]),
    count: 20,
  },
  withDegreesOfFreedom: {
    generate: (random) => {
      const { layout, widths, questions } = readingTask(random);
      const taken = readings(random, layout);
      const solved = (floorMm: number) => solveTips(layout, taken, { ...widths, floorMm }, questions);
      return plain([solved(widths.floorMm), solved(1.1 * widths.floorMm), 1.1, integerBetween(random, 1, 9)]);
    },
    count: 10,
  },
  widenedByMisfit: {
    generate: (random) => {
      const { layout, widths, questions } = readingTask(random);
      return plain([solveTips(layout, readings(random, layout), widths, questions)]);
    },
    count: 10,
  },
};

/** A machine of one or two spindles with places of its own, so that Lua finds its plan in a moment. */
function readingTask(random: Random) {
  const spindles = example.layout.spindles.slice(0, integerBetween(random, 1, 2));
  const machine = { ...example.layout, spindles };
  const places = spindles.flatMap((_, spindle) =>
    [0, 90, -90].flatMap((headingDeg) => ([1, -1] as const).map((end) => ({ spindle, headingDeg, end }))),
  );
  return {
    layout: machine,
    widths: {
      ...example.widths,
      headingDeg: pick(random, [0, 2, 5]),
      heightReferenceMm: integerBetween(random, 40, 90),
    },
    questions: questionsOf(spindles.length - 1),
    places,
    standardErrorMm: 0.02,
    ...(random.chance(0.3) ? { raisedToClamp: true } : {}),
    ...(random.chance(0.3)
      ? {
          cranks: spindles.map(
            () =>
              ({
                number: 0,
                offsetDeg: random.between(-180, 180),
                sense: random.chance(0.5) ? 1 : -1,
              }) as const,
          ),
        }
      : {}),
    ...(random.chance(0.3) ? { costs: { clampS: 30, turnS: 5, raiseClampS: 40, captureS: 4 } } : {}),
  };
}

function readings(random: Random, machine: { spindles: readonly unknown[] }) {
  return listOf(integerBetween(random, 0, 10), () => ({
    spindle: integerBetween(random, 0, machine.spindles.length - 1),
    headingDeg: pick(random, [0, 90, 180, -90, random.between(-180, 180)]),
    end: pick(random, [1, -1] as const),
    refitted: random.chance(0.2),
    seating: integerBetween(random, 1, 2),
    placement: integerBetween(random, 1, 8),
    heightMm: 75 + random.normal(3),
    standardErrorMm: random.between(0.01, 0.05),
  }));
}

function questionsOf(last: number): MeasureQuestion[] {
  const limits = { targetMm: 0, lowerMm: -4, upperMm: 4 };
  return [
    {
      what: 'tips',
      name: 'level',
      terms: [
        { spindle: 0, headingDeg: 90, weight: 1 },
        { spindle: last, headingDeg: -90, weight: -1 },
      ],
      ...limits,
    },
    { what: 'bend', name: 'bend', spindle: last, ...limits },
  ];
}

function plain(values: readonly unknown[]): Plain[] {
  return structuredClone(values) as Plain[];
}
