/**
 * Whole jobs at the page, in a real browser, from an empty store to the sheet: all four uses, by touch alone and by keys
 * alone, on a tablet, a laptop and a telephone. No stage has an accessibility fault that axe can find (WCAG 2.2 A and AA).
 */
import { AxeBuilder } from '@axe-core/playwright';
import { readFileSync } from 'node:fs';
import type { Browser, BrowserContext } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { faultsOf, hasChromium, HOW_TO_ENABLE, openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough, type By } from './person';

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

interface Trial {
  readonly use: string;
  readonly model: string;
  readonly by: By;
  readonly size: keyof typeof SIZES;
  readonly theme: 'light' | 'dark';
  /** What has to be asked on the way. */
  readonly meets: readonly string[];
}

/** Every use, every way, every size; each size by touch and by keys. */
const TRIALS: readonly Trial[] = [
  { use: 'Inspection', model: 'Pimwick 76', by: 'touch', size: 'phone', theme: 'light', meets: ['read'] },
  { use: 'Inspection', model: 'Larkpenny 51', by: 'keys', size: 'laptop', theme: 'light', meets: ['read'] },
  {
    use: 'Levelling',
    model: 'Pimwick 76',
    by: 'keys',
    size: 'tablet',
    theme: 'dark',
    meets: ['turn', 'tighten'],
  },
  {
    use: 'Levelling',
    model: 'Pimwick 76',
    by: 'touch',
    size: 'laptop',
    theme: 'dark',
    meets: ['turn', 'tighten'],
  },
  {
    use: 'Diagnosis',
    model: 'Pimwick 76',
    by: 'touch',
    size: 'tablet',
    theme: 'light',
    meets: ['refit blade'],
  },
  { use: 'Warranty', model: 'Pimwick 76', by: 'keys', size: 'phone', theme: 'dark', meets: ['state claim'] },
];

/** Stages that axe has seen, in both themes. */
const looked = new Set<string>();

it.skipIf(!hasChromium).each(TRIALS)(
  `$use of a $model by $by, $size, $theme${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async ({ use, model, by, size, theme, meets }) => {
    const bay = await openBay({ pace: 8, seed: 3 });
    const context = await browser.newContext({
      viewport: SIZES[size],
      hasTouch: by === 'touch',
      colorScheme: theme,
      acceptDownloads: true,
    });
    const page = await context.newPage();
    const faults = faultsOf(page);
    const asked: string[] = [];
    page.on('request', (request) => asked.push(new URL(request.url()).origin));
    await page.goto(bay.address);
    await begin(page, by, { use, model, serial: 'INVENTED-1' });
    const steps = await workThrough(page, by, async ({ asks, task }, question) => {
      expect(await question.locator('h1').evaluate(beginsInSight), task).toBe(true);
      expect(await page.evaluate<boolean>(IS_HEIGHT_ABOVE_KEY), task).toBe(true);
      expect(await page.evaluate<boolean>(FITS_ACROSS), task).toBe(true);
      if (looked.has(`${asks} ${theme}`)) return;
      looked.add(`${asks} ${theme}`);
      expect(await violations(context), asks).toEqual([]);
    });
    expect(steps.map((s) => s.asks)).toEqual(expect.arrayContaining([...meets]));
    expect(await page.locator('h1').innerText()).toMatch(/^(pass|fail|can't tell yet)$/i);
    expect(await violations(context), 'closed').toEqual([]);
    const [sheet] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: /Save the sheet/ }).click(),
    ]);
    expect(
      readFileSync(await sheet.path())
        .subarray(0, 5)
        .toString(),
    ).toBe('%PDF-');
    // Nothing from outside is ever asked.
    expect(new Set(asked)).toEqual(new Set([new URL(bay.address).origin]));
    expect(faults).toEqual([]);
    expect(bay.desk.ledger.events(1)[0]?.event).toMatchObject({
      serialNumber: 'INVENTED-1',
      simulated: true,
    });
    await context.close();
    await bay.close();
  },
);

interface Heading {
  readonly ownerDocument: { elementFromPoint(x: number, y: number): unknown };
  getBoundingClientRect(): { readonly left: number; readonly top: number };
  contains(other: unknown): boolean;
}

/** Nothing lies over the first words of a heading. */
function beginsInSight(element: unknown): boolean {
  const heading = element as Heading;
  const { left, top } = heading.getBoundingClientRect();
  return heading.contains(heading.ownerDocument.elementFromPoint(left + 20, top + 16));
}

/** Where a live height is shown, all of it stands above the key that takes it. */
const IS_HEIGHT_ABOVE_KEY = `(() => {
  const [height, key] = ['.live', '.actions'].map((of) => document.querySelector(of)?.getBoundingClientRect());
  return height === undefined || height.bottom <= key.top;
})()`;

/** Nothing has to be scrolled sideways (reflow, WCAG 2.2 success criterion 1.4.10). */
const FITS_ACROSS = 'document.documentElement.scrollWidth <= innerWidth';

async function violations(context: BrowserContext): Promise<string[]> {
  const page = context.pages()[0];
  if (page === undefined) return [];
  const { violations: found } = await new AxeBuilder({ page }).analyze();
  return found.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`);
}
