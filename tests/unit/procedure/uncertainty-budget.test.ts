/**
 * The shares of an uncertainty budget against the law of propagation (JCGM 100:2008, 5.1.2 and 5.2.2): the answer of a
 * measure to each single reading is found by moving that reading alone, and sources that act on readings are propagated
 * through those answers by hand.
 */
import { describe, expect, it } from 'vitest';
import { loadProfile } from '../../../host/machines/load';
import { widthValues } from '../../../host/gauging/widths';
import { readingsOnTarget } from '../../../host/gauging/error-budget';
import { layoutOf, measureQuestions } from '../../../host/procedure/assess';
import { uncertaintyBudget } from '../../../host/procedure/uncertainty-budget';
import { bothEnds } from '../../../host/procedure/reading-plan';
import { solveTips, type Layout, type TipReading, type Widths } from '../../../protocol/solver';

const profile = loadProfile('orrinshaw-106');
const questions = measureQuestions(profile);
const widths = widthValues(60);
const tips = bothEnds(profile, true).map((t) => ({
  spindle: profile.spindles.findIndex((s) => s.name === t.spindle),
  headingDeg: t.headingDeg,
  end: t.end === 'A' ? (1 as const) : (-1 as const),
}));
const readings = readingsOnTarget(layoutOf(profile), questions, tips).map((r, i) => ({
  ...r,
  standardErrorMm: 0.05 + 0.02 * (i % 3),
}));
const solve = (on: Layout, of: readonly TipReading[], by: Widths) => solveTips(on, of, by, questions);
const budgetOf = (layout: Layout) => {
  const solution = solve(layout, readings, widths);
  return {
    solution,
    budget: uncertaintyBudget({ layout, readings, widths, questions, solution, scatter: 1 }, solve),
  };
};

describe('an uncertainty budget', () => {
  const layout = layoutOf(profile);
  const { solution, budget } = budgetOf(layout);
  const valueOf = (of: readonly TipReading[], i: number) => {
    const m = solve(layout, of, widths).measures[i];
    return m?.determined === true ? m.valueMm : NaN;
  };
  /** How much each measure moves with each reading. */
  const answers = questions.map((_, i) =>
    readings.map((_, k) => {
      const moved = (by: number) =>
        readings.map((r, j) => (j === k ? { ...r, heightMm: r.heightMm + by } : r));
      return (valueOf(moved(0.5), i) - valueOf(moved(-0.5), i)) / 1;
    }),
  );
  const shareOf = (source: string, i: number) =>
    budget.sources.find((s) => s.source === source)?.shares[i] ?? 0;
  const variance = (i: number) => solution.measureCovariance[i * questions.length + i] ?? NaN;

  it.each(questions.map((q, i) => [q.name, i] as const))(
    'of %s shares its variance as the law has it',
    (_, i) => {
      const c = answers[i] ?? [];
      const clampings = [...new Set(readings.map((r) => r.placement))];
      const together = (of: (r: TipReading) => boolean) =>
        readings.reduce((sum, r, k) => sum + (of(r) ? (c[k] ?? 0) : 0), 0);
      const byHand = {
        captures: readings.reduce((sum, r, k) => sum + ((c[k] ?? 0) * r.standardErrorMm) ** 2, 0),
        placementMm:
          widths.placementMm ** 2 *
          clampings.reduce((sum, p) => sum + together((r) => r.placement === p) ** 2, 0),
        offsetMm: (widths.offsetMm * together(() => true)) ** 2,
      };
      for (const [source, part] of Object.entries(byHand))
        // To half a hundredth: how well a blade is pointed counts by the deck's slope, which moves with the reading.
        expect(shareOf(source, i), source).toBeCloseTo(part / variance(i), 2);
    },
  );

  it('adds up to the whole, and says what it does not share out', () => {
    budget.measures.forEach((m, i) => {
      const sum = budget.sources.reduce((total, s) => total + (s.shares[i] ?? 0), 0);
      expect(sum + (budget.rest[i] ?? NaN)).toBeCloseTo(1, 3);
      expect(Math.abs(budget.rest[i] ?? NaN), m.name).toBeLessThan(0.03);
      expect(m.standardUncertaintyMm).toBeCloseTo(Math.sqrt(variance(i)), 12);
    });
  });

  it('names the tape where the geometry comes from one', () => {
    const taped = budgetOf({ ...layout, uncertaintyMm: { spindleMm: 20, tipRadiusMm: 10, wheelMm: 20 } });
    expect(taped.budget.sources.map((s) => s.source)).toContain('tape');
    expect(budget.sources.map((s) => s.source)).not.toContain('tape');
  });
});
