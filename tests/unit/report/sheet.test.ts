/** The sheet is read back from its bytes; what it must say comes from the view and from job.md's words. */
import { afterEach, describe, expect, it, vi } from 'vitest';
import { recordPdf } from '../../../host/report/record';
import { sheetPdf } from '../../../host/report/sheet';
import type { SheetView } from '../../../host/views/sheet-view';
import { expectClean } from './clean-pages';
import { inventedRecord, inventedView, MACHINES } from './invented-view';
import { rawText, readPages, textOf, utf16, type PageContent } from './read-pdf';
import { open, pagesOf, textsOf, withoutHeads } from './sheet-texts';

const SIMULATED = 'SIMULATED SHOP – invented machine, no real measurement';
const NOT_FINAL = 'JOB NOT CLOSED: NOT A FINAL SHEET';

describe('the same view', () => {
  afterEach(() => {
    vi.useRealTimers();
  });

  it('gives the same bytes at any time of day', async () => {
    const first = await sheetPdf(inventedView());
    vi.useFakeTimers({ now: new Date('2044-07-01T00:00:00Z'), toFake: ['Date'] });
    expect(Buffer.from(await sheetPdf(inventedView())).equals(first)).toBe(true);
  });

  it('gives an id of its own to each record, and dates from the job', async () => {
    const view = inventedView();
    const id = (bytes: Uint8Array) => /\/ID \[<([0-9a-f]{32})> <\1>\]/.exec(rawText(bytes))?.[1];
    const one = await sheetPdf(view);
    const other = await sheetPdf({ ...view, head: { ...view.head, hash: view.head.hash.replace('5', '6') } });
    expect(id(one)).toBeDefined();
    expect(id(other)).toBeDefined();
    expect(id(one)).not.toBe(id(other));
    expect(rawText(one).match(/D:20\d{12}Z/g)).toEqual(['D:20310304083155Z', 'D:20310304083155Z']);
  });
});

describe('every machine', () => {
  for (const [count, profile] of Object.entries(MACHINES)) {
    it(`of ${count} spindle(s) gets a sheet of one page and a record that says all, tagged, and inside the page`, async () => {
      const view = inventedView(profile);
      const [sheet, ...more] = readPages(await sheetPdf(view));
      if (sheet === undefined) throw new Error('no page');
      expect(more).toEqual([]);
      for (const said of expectedOnFirstPage(view)) expect(textOf(sheet)).toContain(said);
      expectClean([sheet]);
      const bytes = await recordPdf(inventedRecord(view));
      const pages = readPages(bytes);
      const [first = '', ...rest] = pages.map(textOf);
      for (const said of expectedOnFirstPage(view)) expect(first).toContain(said);
      for (const item of view.prepared) expect(withoutHeads(rest)).toContain(`${item.text}: ${item.answer}`);
      for (const tip of view.stages.at(-1)?.tips ?? []) {
        expect(rest.join(' ')).toContain(`${tip.heightMm.toFixed(1)} ± 0.7 mm`);
      }
      expectTagged(bytes, pages);
      expectClean(pages);
    });
  }
});

/** Written out from the view by hand, not through the functions that the sheet uses. */
function expectedOnFirstPage(view: SheetView): string[] {
  const level = { came: '6.3 ± 0.6 mm', leaves: '–0.3 ± 0.6 mm' };
  const { cutHeightMm } = view.profile;
  return [
    SIMULATED,
    `${view.profile.model} (invented machine)`,
    'TEST-000317',
    'WO-2291',
    'Ida Müller-Åsgård',
    'job 41',
    'Opened 2031-03-04 08:12 UTC',
    'Closed 2031-03-04 08:31 UTC',
    'Result pass',
    'at least 98.7 %',
    `level ${level.came} outside ${level.leaves} inside –3 to 3 mm, shop limit`,
    'rake –0.8 ± 0.7 mm outside 4.9 ± 0.7 mm inside 2 to 8 mm, shop limit',
    `cut height ${(cutHeightMm + 3.4).toFixed(1)} ± 0.9 mm outside ${(cutHeightMm + 0.2).toFixed(1)} ± 0.9 mm inside`,
    'Fixture SW-0007, firmware 0.1.0 calibration head low 3, head high 2',
    'opening +0.02, –0.03 mm',
    'closing +0.05, –0.01 mm',
    'Readings: 38 taken, 1 set aside',
    `Preparation: ${view.prepared.length} items, 0 open, 0 answered no`,
    '= 2 turns and 3 flats',
    '= 1 turn and 1 flat',
    'Tightened, and confirmed by a fresh set of readings after it.',
    'Rule: Pass when all limits are kept',
    view.head.hash,
    'Record 5f1c0b9e77aa: entry 164 of log bay-2',
    'How to check: swathplane verify --head 164:5f1c0b9e77aa43d2',
    "The maker's manual, local rules and licensed practice come first",
    'left as seated',
    'right as seated',
    'front',
    'rear',
    'size of the wheels not to scale',
    `cut height wanted, ${cutHeightMm} mm`,
  ];
}

function expectTagged(bytes: Uint8Array, pages: readonly PageContent[]): void {
  const raw = rawText(bytes);
  for (const key of [
    '/Marked true',
    '/Lang (en-GB)',
    '/StructTreeRoot',
    '/DisplayDocTitle true',
    '/S /Figure',
    '/S /Table',
    '/S /H1',
    utf16('Deck from above, front up.'),
  ]) {
    expect(raw.includes(key), key).toBe(true);
  }
  expect(pages.flatMap((p) => p.runs).filter((r) => r.marked === 'not')).toEqual([]);
}

describe('marks', () => {
  const view = inventedView();
  const views = { closed: view, open: open(view), 'without a stage': { ...open(view), stages: [] } };

  for (const [name, marked] of Object.entries(views)) {
    it(`a simulated job, ${name}, says so on every page and in its title`, async () => {
      for (const text of await textsOf(marked)) expect(text).toContain(SIMULATED);
      expect(rawText(await sheetPdf(marked)).includes(utf16(SIMULATED))).toBe(true);
    });
  }

  it('a real job on an invented machine says invented, a real machine says neither', async () => {
    const real = { ...view, simulated: false };
    for (const text of await textsOf(real)) {
      expect(text).toContain('INVENTED MACHINE');
      expect(text).not.toContain('SIMULATED');
    }
    for (const text of await textsOf({ ...real, profile: { ...view.profile, invented: false } })) {
      expect(text).not.toMatch(/invented|simulated/i);
    }
  });

  it('an open job is marked on every page, overprinted, and shows no result word', async () => {
    const pages = await pagesOf(open(view));
    for (const text of pages.map(textOf)) expect(text).toContain(NOT_FINAL);
    const across = pages[0]?.runs.filter((r) => r.turned && r.marked === 'artifact') ?? [];
    expect(across.map((r) => r.text)).toEqual(['NOT A FINAL SHEET']);
    // Too large to be overlooked: most of the page's diagonal, which is 1031 pt.
    expect(across[0]?.width).toBeGreaterThan(700);
    expect(pages[0]?.runs.filter((r) => r.size > 20 && !r.turned).map((r) => r.text)).toEqual([
      'result not final',
    ]);
    for (const text of await textsOf(view)) expect(text).not.toContain(NOT_FINAL);
  });
});
