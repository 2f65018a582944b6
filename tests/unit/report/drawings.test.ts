/** The drawings against the geometry that they claim to show. */
import { describe, expect, it } from 'vitest';
import { inventedView, MACHINES } from './invented-view';
import { textOf } from './read-pdf';
import { pagesOf } from './sheet-texts';

describe('drawings', () => {
  it('the map is to scale, front up, left on the left', async () => {
    for (const profile of Object.values(MACHINES)) {
      const [page] = await pagesOf(inventedView(profile));
      // Wheels are the only upright rectangles of 110 by 260; the profile's order is the order of drawing.
      const wheels =
        page?.paths.flatMap((p) =>
          p.rectangle !== undefined && Math.abs(p.rectangle[3] / p.rectangle[2] - 260 / 110) < 1e-4
            ? [p.rectangle]
            : [],
        ) ?? [];
      expect(wheels).toHaveLength(profile.wheels.length);
      const [first, ...others] = profile.wheels.map((w, i) => ({
        ...w,
        left: wheels[i]?.[0] ?? NaN,
        top: wheels[i]?.[1] ?? NaN,
      }));
      const ptPerMm = (wheels[0]?.[2] ?? NaN) / 110;
      for (const wheel of others) {
        expect(wheel.left - (first?.left ?? NaN)).toBeCloseTo(((first?.yMm ?? NaN) - wheel.yMm) * ptPerMm, 3);
        expect(wheel.top - (first?.top ?? NaN)).toBeCloseTo(((first?.xMm ?? NaN) - wheel.xMm) * ptPerMm, 3);
      }
    }
  });

  it('the side view slopes as many times more as it says, front on the left', async () => {
    const view = inventedView();
    const [page] = await pagesOf(view);
    const factor = Number(/Heights drawn (\d+) ×/.exec(textOf(page))?.[1]);
    const plane = page?.paths.find((p) => p.lineWidth === 1.6);
    const [front = [NaN, NaN], rear = [NaN, NaN]] = plane?.points ?? [];
    const rise = front[1] - rear[1];
    // Page y runs downward; dz/dx is negative with the front lower, and the front is drawn on the left.
    expect(rise / (rear[0] - front[0])).toBeCloseTo(-(view.stages.at(-1)?.plane?.slopeX ?? NaN) * factor, 4);
    expect(front[0]).toBeLessThan(rear[0]);
  });

  it('a tip above the mean has its bar up and black, one below has it down and white', async () => {
    const view = inventedView();
    const [page] = await pagesOf(view);
    const frames =
      page?.paths.flatMap((p, i) => {
        const bar = page.paths[i + 1]?.rectangle;
        return p.rectangle !== undefined && p.rectangle[2] === 6 && p.rectangle[3] === 18 && bar !== undefined
          ? [{ frame: p.rectangle, bar }]
          : [];
      }) ?? [];
    const tips = view.stages.at(-1)?.tips ?? [];
    expect(frames).toHaveLength(tips.length);
    const mean = tips.reduce((sum, t) => sum + t.heightMm, 0) / tips.length;
    const most = Math.max(...tips.map((t) => Math.abs(t.heightMm - mean)));
    tips.forEach((tip, i) => {
      const { frame, bar } = frames[i] ?? { frame: [NaN, NaN, NaN, NaN], bar: [NaN, NaN, NaN, NaN] };
      const middle = frame[1] + 9;
      const length = (9 * (tip.heightMm - mean)) / Math.ceil(most);
      expect(bar[3]).toBeCloseTo(Math.abs(length), 4);
      expect(bar[1]).toBeCloseTo(length > 0 ? middle - length : middle, 4);
    });
  });
});
