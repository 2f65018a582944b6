/** Repeated captures: the solver against the whole covariance written out and inverted by a general library. */
import { Matrix, inverse } from 'ml-matrix';
import { expect, it } from 'vitest';
import { solveTips, type TipReading } from '../../../protocol/solver';
import { designColumns, readingCovariance, tipModel } from '../../../protocol/solver/tip-model';
import { layout, questions, readingsRound, widths } from '../../bench/example';

const relative = (a: number, b: number) => Math.abs(a - b) / Math.max(1e-6, Math.abs(b));

/** Uneven sets: one to four captures, of different noise, some of them clamped anew. */
const uneven: TipReading[] = readingsRound(4)
  .filter((_, i) => i % 7 !== 3 && i % 11 !== 5)
  .map((r, i) => ({
    ...r,
    standardErrorMm: 0.01 + 0.01 * (i % 4),
    placement: i % 13 === 0 ? 100 + i : r.placement,
  }));

it.each([
  ['uneven sets', uneven],
  ['eight captures of each', readingsRound(8)],
] as const)(
  '%s: leave-one-out residuals, chi-square and evidence are those of every capture by itself',
  (_, readings) => {
    const solution = solveTips(layout, readings, widths, questions);
    const { pose } = solution;
    if (pose === 'not determined') throw new Error('a full set determines the pose');
    // The heading error is linearised at slopes that solveTips finds; without heading error there is nothing to linearise.
    const still = { ...widths, headingDeg: 0 };
    const ours = solveTips(layout, readings, still, questions);
    const model = tipModel(layout, readings, still);
    const none = [0, 0, 0];
    const lowerRows = readingCovariance(model, { x: none, y: none, varianceX: none, varianceY: none });
    const n = readings.length;
    const at = (i: number, j: number) => (i >= j ? lowerRows[i][j] : lowerRows[j][i]);
    const columns = designColumns(model);
    const h = new Matrix(n, model.size);
    for (let j = 0; j < model.size; j++) for (let i = 0; i < n; i++) h.set(i, j, columns[j][i]);
    // Every unknown but the plane has the prior N(0, 1); the plane drops out by projection.
    const k = Matrix.zeros(n, n);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        let sum = at(i, j);
        for (let c = 3; c < model.size; c++) sum += h.get(i, c) * h.get(j, c);
        k.set(i, j, sum);
      }
    const ki = inverse(k);
    const x = h.subMatrix(0, n - 1, 0, 2);
    const xtk = x.transpose().mmul(ki);
    const p = ki.sub(
      xtk
        .transpose()
        .mmul(inverse(xtk.mmul(x)))
        .mmul(xtk),
    );
    const y = Matrix.columnVector(model.observedMm);
    const py = p.mmul(y);
    ours.residuals.forEach((residual, i) => {
      if (!residual.determined) throw new Error('every capture is backed by another');
      expect(relative(residual.valueMm, py.get(i, 0) / p.get(i, i))).toBeLessThan(1e-9);
      expect(relative(residual.standardised, py.get(i, 0) / Math.sqrt(p.get(i, i)))).toBeLessThan(1e-9);
    });
    expect(relative(ours.chiSquare, y.transpose().mmul(py).get(0, 0))).toBeLessThan(1e-9);
    expect(ours.degreesOfFreedom).toBe(n - 3);
  },
);

it('time grows gently with repeated captures: eight times as many take less than four times as long', () => {
  const medianMs = (rounds: number) => {
    const readings = readingsRound(rounds);
    const times = Array.from({ length: 40 }, () => {
      const start = performance.now();
      solveTips(layout, readings, widths, questions);
      return performance.now() - start;
    });
    return times.sort((a, b) => a - b)[20];
  };
  medianMs(1);
  const once = medianMs(1);
  const often = medianMs(8);
  console.log(`24 captures ${once.toFixed(3)} ms, 192 captures ${often.toFixed(3)} ms`);
  expect(often / once).toBeLessThan(4);
});
