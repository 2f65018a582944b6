/** What holds for every page, whatever it says. */
import { expect } from 'vitest';
import type { PageContent, TextRun } from './read-pdf';

const A4 = { width: 595.28, height: 841.89 };

/** Nothing beyond the page, no type below 7.5 pt, no text on another. */
export function expectClean(pages: readonly PageContent[]): void {
  for (const page of pages) {
    const level = page.runs.filter((r) => !r.turned);
    for (const run of level) {
      expect(run.size, run.text).toBeGreaterThanOrEqual(7.5);
      expect(run.x, run.text).toBeGreaterThanOrEqual(20);
      expect(run.x + run.width, run.text).toBeLessThanOrEqual(A4.width - 20);
      expect(run.y, run.text).toBeGreaterThanOrEqual(20);
      expect(run.y + run.size, run.text).toBeLessThanOrEqual(A4.height - 15);
    }
    expect(overlapping(level)).toEqual([]);
    for (const [x, y] of page.paths.flatMap((p) => p.points)) {
      expect(x).toBeGreaterThanOrEqual(15);
      expect(x).toBeLessThanOrEqual(A4.width - 15);
      expect(y).toBeGreaterThanOrEqual(15);
      expect(y).toBeLessThanOrEqual(A4.height - 15);
    }
  }
}

function overlapping(runs: readonly TextRun[]): string[] {
  const box = (r: TextRun) => ({
    left: r.x,
    right: r.x + r.width,
    bottom: r.y - 0.1 * r.size,
    top: r.y + 0.7 * r.size,
  });
  return runs.flatMap((a, i) =>
    runs.slice(i + 1).flatMap((b) => {
      const [p, q] = [box(a), box(b)];
      const apart = p.right <= q.left || q.right <= p.left || p.top <= q.bottom || q.top <= p.bottom;
      return apart ? [] : [`${a.text} / ${b.text}`];
    }),
  );
}
