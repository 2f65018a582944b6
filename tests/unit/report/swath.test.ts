/** Page 2 carries what the pose says of the cut and of the air; the figures are worked out by hand. */
import { expect, it } from 'vitest';
import type { Swath } from '../../../host/views/swath';
import { expectClean } from './clean-pages';
import { inventedView } from './invented-view';
import { textOf } from './read-pdf';
import { pagesOf } from './sheet-texts';

const SWATH: Swath = {
  geometric: true,
  widthMm: 1000,
  points: [-500, 0, 500].map((yMm) => ({ yMm, heightMm: 75 + yMm / 500, spindle: 'centre' })),
  meanMm: 75,
  rmsMm: 0.816,
  steps: [{ yMm: 100, of: 'left', mm: 1.24 }],
  betweenPasses: { overlapMm: 100, sameWayMm: 1.8, returningMm: 0.2 },
};

it('draws the swath profile and the gap under the skirt in the annex, inside the page, and says that it is geometry', async () => {
  const view = inventedView();
  const stages = view.stages.map((stage) => ({
    ...stage,
    swath: SWATH,
    skirtGap: {
      sides: [
        {
          side: 'rear' as const,
          points: [],
          leastMm: 60,
          greatestMm: 63.25,
          lengthMm: 1000,
          areaMm2: 61_600,
        },
      ],
      unevenMm: 3.25,
      airAreaMm2: 61_600,
    },
  }));
  const pages = await pagesOf({ ...view, stages });
  expectClean(pages);
  const text = pages.slice(1).map(textOf).join(' ');
  expect(text).toContain('Geometric, from the blade circles: mean 75.0 mm over 1000 mm, RMS 0.82 mm.');
  expect(text).toContain('Greatest step where blades overlap: 1.2 mm, at the edge of the left blade.');
  expect(text).toContain('overlap by 100 mm: 1.8 mm the same way, 0.2 mm coming back.');
  expect(text).toContain('616 cm² for make-up air');
  const before = await pagesOf(view);
  const paths = (all: typeof pages) => all.reduce((sum, page) => sum + page.paths.length, 0);
  expect(paths(pages)).toBeGreaterThan(paths(before));
});
