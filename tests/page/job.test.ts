/** Whole jobs at the page, in a real browser, from an empty store to the sheet. */
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { faultsOf, hasChromium, HOW_TO_ENABLE, openBay, openBrowser, SIZES } from './browser';

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

/** Gives the usual answer to every question until the job is closed. */
async function workThrough(page: Page): Promise<string[]> {
  const asked: string[] = [];
  for (let before = -1; ;) {
    const question = page
      .locator(`.question:not([data-n="${before}"]):has(.choices button), .closed`)
      .first();
    await question.waitFor();
    if ((await question.getAttribute('data-n')) === null) return asked;
    before = Number(await question.getAttribute('data-n'));
    asked.push(await page.locator('h1').innerText());
    const main = question.locator('.choices button.main');
    await ((await main.count()) > 0 ? main : question.locator('.choices button').first()).click();
  }
}

it.skipIf(!hasChromium)(`an inspection by touch${HOW_TO_ENABLE}`, { timeout: 120_000 }, async () => {
  const bay = await openBay();
  const page = await browser.newPage({ viewport: SIZES.tablet, hasTouch: true });
  const faults = faultsOf(page);
  await page.goto(bay.address);
  await page.getByLabel('Inspection').check();
  await page.getByLabel('Machine').selectOption('Pimwick 76');
  await page.getByRole('button', { name: 'Begin' }).click();
  const asked = await workThrough(page);
  expect(asked.length).toBeGreaterThan(20);
  expect(faults).toEqual([]);
  await page.close();
  await bay.close();
});
