/** The figures of the page with generous bars: the real ones are printed by `npm run figures:page` on a quiet computer. */
import { expect, it } from 'vitest';
import { hasChromium, HOW_TO_ENABLE, openBrowser } from './browser';
import { figures } from './figures';

const NAME = `the page is small, soon there, and shows what is now${HOW_TO_ENABLE}`;

it.skipIf(!hasChromium)(NAME, { timeout: 120_000 }, async () => {
  const browser = await openBrowser();
  const { scriptKb, firstPaintMs, heightMs } = await figures(browser, 100);
  expect(scriptKb).toBeLessThan(80);
  expect(firstPaintMs).toBeLessThan(5000);
  expect(heightMs.samples).toBeGreaterThan(80);
  expect(heightMs.middle).toBeLessThan(1000);
  await browser.close();
});
