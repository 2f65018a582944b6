/** The same tasks as `npm run bench`, under the test runner's benchmark. */
import { bench, describe } from 'vitest';
import { judge, solveTips } from '../../protocol/solver';
import { layout, questions, readingsRound, widths } from './example';
import { byEngine, byLibrary, randomProblem } from './least-squares';

describe('solve and judge, three spindles', () => {
  for (const rounds of [1, 8]) {
    const readings = readingsRound(rounds);
    bench(`${readings.length} readings`, () => {
      judge(solveTips(layout, readings, widths, questions), questions);
    });
  }
});

describe('least squares 50 x 26', () => {
  const problem = randomProblem(50, 26, 1);
  bench('ours', () => {
    byEngine(problem);
  });
  bench('ml-matrix QR', () => {
    byLibrary(problem);
  });
});
