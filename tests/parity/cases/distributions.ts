/** Cases for the distribution functions and their quantiles. */
import { anyNumber, integerBetween, pick } from '../numbers';
import type { CasesByName } from './cases';

export const DISTRIBUTION_CASES: CasesByName = {
  normalBelow: { generate: (random) => [pick(random, [anyNumber(random), random.normal(4)])] },
  normalQuantile: {
    generate: (random) => [pick(random, [random.uniform(), 0, 1, 0.5, 10 ** random.between(-300, 0)])],
  },
  studentBelow: {
    generate: (random) => [random.normal(4), pick(random, [1, 2, 29, 10 ** random.between(-1, 6), Infinity])],
  },
  chiSquareAbove: {
    generate: (random) => [
      pick(random, [random.between(0, 60), anyNumber(random)]),
      pick(random, [integerBetween(random, 0, 30), random.between(0.1, 30)]),
    ],
  },
  logGamma: {
    generate: (random) => [pick(random, [integerBetween(random, 1, 200), random.between(0.01, 50)])],
  },
  fisherAbove: {
    generate: (random) => [
      pick(random, [random.between(0, 10), anyNumber(random)]),
      pick(random, [integerBetween(random, 1, 60), Infinity]),
      pick(random, [random.between(0.5, 80), Infinity]),
    ],
  },
  studentQuantile: {
    generate: (random) => [
      random.between(0.001, 0.999),
      pick(random, [integerBetween(random, 1, 60), 2.5, Infinity]),
    ],
    count: 60,
  },
  chiSquareQuantile: {
    generate: (random) => [random.between(0.001, 0.999), pick(random, [integerBetween(random, 1, 60), 7.3])],
    count: 60,
  },
  fisherQuantile: {
    generate: (random) => [
      random.between(0.001, 0.999),
      pick(random, [integerBetween(random, 1, 60), Infinity]),
      integerBetween(random, 1, 60),
    ],
    count: 60,
  },
};
