/** Every bar that the image has to meet in emulated time. The bars are the project's own, from its design. */
import { describe, expect, it } from 'vitest';
import { figureLine, isMet, measureImage } from './measure';
import { CANNOT_RUN, named } from './workbench';

describe.skipIf(CANNOT_RUN !== undefined)(named('figures of the image'), { timeout: 900_000 }, () => {
  it('meet their bars', async () => {
    const figures = await measureImage();
    expect(figures.length).toBeGreaterThan(10);
    expect(figures.filter((figure) => !isMet(figure)).map(figureLine)).toEqual([]);
  });
});
