/** `npm run pictures`: a screenshot of every stage of a job, in the sizes and themes that count, into build/pictures. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough } from './person';

const FOLDER = 'build/pictures';
const TURNS = [
  { use: 'Levelling', model: 'Orrinshaw 106', size: 'tablet', theme: 'light' },
  { use: 'Warranty', model: 'Quellbeck 133', size: 'laptop', theme: 'dark' },
  { use: 'Inspection', model: 'Pimwick 76', size: 'phone', theme: 'light' },
] as const;

const browser = await openBrowser();
const only = process.argv[2];
for (const turn of TURNS) if (only === undefined || only === turn.size) await picturesOf(browser, turn);
await browser.close();

async function picturesOf(
  browser: Browser,
  { use, model, size, theme }: (typeof TURNS)[number],
): Promise<void> {
  const bay = await openBay({ seed: 3 });
  const context = await browser.newContext({
    viewport: SIZES[size],
    hasTouch: size !== 'laptop',
    colorScheme: theme,
  });
  const page = await context.newPage();
  const folder = join(FOLDER, `${size}-${theme}`);
  mkdirSync(folder, { recursive: true });
  let taken = 0;
  const take = async (name: string, fullPage = false) => {
    taken += 1;
    const file = `${String(taken).padStart(2, '0')}-${name.replaceAll(/\W+/g, '-')}.png`;
    await page.screenshot({ path: join(folder, file), fullPage });
  };
  await page.goto(bay.address);
  await page.getByRole('radio', { name: model }).waitFor();
  await take('new-job', true);
  const by = size === 'laptop' ? 'keys' : 'touch';
  await begin(page, by, { use, model, serial: 'INVENTED-1' });
  const seen = new Map<string, number>();
  await workThrough(page, by, async ({ asks, task }) => {
    const key = asks === 'read' ? `read ${task.split(' ')[0]}` : asks;
    const before = seen.get(key) ?? 0;
    seen.set(key, before + 1);
    // The second reading has taken ones beside it.
    if (before !== 0 && !(before === 3 && asks === 'read')) return;
    if (asks === 'read')
      await page
        .locator('.live.is-settled')
        .waitFor({ timeout: 5000 })
        .catch(() => {});
    await take(key);
  });
  await take('closed', true);
  console.log(`${folder}: ${taken} pictures`);
  await context.close();
  await bay.close();
}
