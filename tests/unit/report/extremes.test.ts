/** Long, many, wild or no values: nothing runs off a page, nothing is lost, nothing crashes. */
import { describe, expect, it } from 'vitest';
import type { MeasureRow } from '../../../host/views/stage-view';
import { expectClean } from './clean-pages';
import { inventedView } from './invented-view';
import { textOf } from './read-pdf';
import { open, pagesOf } from './sheet-texts';

describe('extreme views', () => {
  const view = inventedView();
  const long = `Überlang ${'abcdefghij'.repeat(40)} end`;

  it('cut what does not fit, print it in full at the end, and stay clean', async () => {
    const pages = await pagesOf({
      ...view,
      decision: 'undecided',
      serialNumber: long,
      workOrder: `${long} 2`,
      technicians: [`${long} 3`],
      profile: { ...view.profile, model: 'W'.repeat(60) },
      caps: Array.from({ length: 30 }, (_, i) => `cap number ${i}`),
      prepared: Array.from({ length: 80 }, (_, i) => ({
        text: `${i} `.padEnd(300, 'lorem '),
        answer: 'open',
      })),
      fixtures: Array.from({ length: 9 }, (_, i) => ({
        ...view.fixtures[0],
        fixtureId: `SW-90${i}`,
      })),
      stages: [...Array.from({ length: 5 }, () => view.stages[0]), view.stages.at(-1)].flatMap(
        (s) => s ?? [],
      ),
      rule: 'a rule '.repeat(60),
    });
    expectClean(pages);
    // What runs over a page's end goes on below the head of the next one.
    const all = pages
      .slice(1)
      .map((page) =>
        textOf(page)
          .replace(/^.*? record \w+/s, '')
          .replace(/page \d+ of \d+$/, ''),
      )
      .join(' ')
      .replaceAll(' ', '');
    for (const full of [
      long,
      `${long} 2`,
      `${long} 3`,
      'W'.repeat(60),
      'cap number 29',
      'SW-908',
      'round 5, rear right',
    ]) {
      expect(all).toContain(full.replaceAll(' ', ''));
    }
  });

  it('many measures go on to the next page', async () => {
    const measures = Array.from({ length: 95 }, (_, i): MeasureRow => ({
      ...view.stages[0]?.measures[0],
      name: `measure ${i} with a name of some length and more`,
      valueMm: i - 1234.5,
      limitSource: long.slice(0, 60),
    }));
    const pages = await pagesOf({ ...view, stages: view.stages.map((s) => ({ ...s, measures })) });
    expectClean(pages);
    expect(textOf(pages[0])).toContain('85 more measures in the full record');
    expect(pages.map(textOf).join(' ')).toContain('–1140.5');
  });

  it('wild numbers stay on the page', async () => {
    const wild = view.stages.map((s) => ({
      ...s,
      plane: { z0Mm: 900, slopeX: -0.9, slopeY: 0.5 },
      tips: s.tips.map((t, i) => ({ ...t, heightMm: 1e4 * (i - 2), expandedMm: 3e3 })),
      measures: s.measures.map((m) => ({
        ...m,
        valueMm: -98765.4,
        expandedMm: 4321,
        lowerMm: -1e4,
        upperMm: -1e4,
      })),
    }));
    expectClean(await pagesOf({ ...view, stages: wild }));
    expectClean(await pagesOf({ ...view, stages: wild.map((s) => ({ ...s, plane: undefined, tips: [] })) }));
  });

  it('nothing read yet', async () => {
    const pages = await pagesOf({
      ...open(view),
      stages: [],
      fixtures: [],
      readings: [],
      prepared: [],
      tightened: false,
    });
    expectClean(pages);
    expect(textOf(pages[0])).toContain('No complete set of readings yet.');
    expect(textOf(pages[0])).toContain('Nothing was turned.');
  });
});
