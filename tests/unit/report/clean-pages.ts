/** What holds for every page, whatever it says. */
import { expect } from 'vitest';
import type { PageContent, TextRun } from './read-pdf';

const A4 = { width: 595.28, height: 841.89 };

/** Nothing beyond the page, no type below 7.5 pt, no text on another. */
export function expectClean(pages: readonly PageContent[]): void {
  for (const page of pages) {
    const level = page.runs.filter((r) => !r.turned);
    expect(level.filter((r) => r.size < 7.5).map((r) => r.text)).toEqual([]);
    expect(level.filter((r) => !isInside(r)).map((r) => r.text)).toEqual([]);
    expect(overlapping(level)).toEqual([]);
    const outside = page.paths
      .flatMap((p) => p.points)
      .filter(([x, y]) => !(x >= 15 && x <= A4.width - 15 && y >= 15 && y <= A4.height - 15));
    expect(outside).toEqual([]);
  }
}

function isInside({ x, y, width, size }: TextRun): boolean {
  return x >= 20 && x + width <= A4.width - 20 && y >= 20 && y + size <= A4.height - 15;
}

/** From the top of the page down, so that only neighbours have to be compared. */
function overlapping(runs: readonly TextRun[]): string[] {
  const boxes = runs
    .map((r) => ({
      text: r.text,
      left: r.x,
      right: r.x + r.width,
      bottom: r.y - 0.1 * r.size,
      top: r.y + 0.7 * r.size,
    }))
    .sort((a, b) => b.top - a.top);
  return boxes.flatMap((p, i) => {
    const found: string[] = [];
    for (let k = i + 1; k < boxes.length; k += 1) {
      const q = boxes[k];
      if (q === undefined || q.top <= p.bottom) break;
      if (p.right > q.left && q.right > p.left) found.push(`${p.text} / ${q.text}`);
    }
    return found;
  });
}
