/**
 * Cases for every function that `protocol/solver/index.ts` exports. The suite fails while one is missing.
 *
 * Example:
 *
 *   dot: {
 *     generate: (random) => {
 *       const length = integerBetween(random, 0, 8);
 *       return [listOf(length, () => anyNumber(random)), listOf(length, () => anyNumber(random))];
 *     },
 *   },
 *   headingVector: {
 *     generate: (random) => [anyNumber(random)],
 *     tolerance: { ulps: 1, of: 'each', reason: 'sine and cosine may differ by 1 ulp between the two runtimes' },
 *   },
 *
 * A function that takes or returns functions is called through a driver: add one to `../drivers/solver.ts` that uses it
 * with plain arguments, and name it here as `driver`.
 */
import type { CasesByName } from './cases';

export const SOLVER_CASES: CasesByName = {};
