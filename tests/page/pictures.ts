/**
 * `npm run pictures`: a screenshot of every stage of a job, of what can go wrong in it and of the places beside it, in the
 * sizes and themes that count, into build/pictures. `npm run pictures -- beside-phone`:
 * of those whose folder is called so.
 */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough } from './person';

const FOLDER = 'build/pictures';
const TURNS = [
  { use: 'Levelling', model: 'Orrinshaw 106', size: 'tablet', theme: 'light' },
  { use: 'Warranty', model: 'Quellbeck 133', size: 'laptop', theme: 'dark' },
  { use: 'Inspection', model: 'Pimwick 76', size: 'phone', theme: 'light' },
] as const;

const BESIDE = [
  ['tablet', 'dark'],
  ['laptop', 'light'],
  ['phone', 'dark'],
] as const;

const PLACES = [
  'machines',
  'machines/of/Orrinshaw 106',
  'machines/new',
  'records',
  'records/1',
  'records/history/model/Orrinshaw 106',
  'bay',
  'fixture',
];

const browser = await openBrowser();
const isWanted = (folder: string) => folder.includes(process.argv[2] ?? '');
for (const turn of TURNS) if (isWanted(`${turn.size}-${turn.theme}`)) await picturesOf(browser, turn);
for (const [size, theme] of BESIDE)
  if (isWanted(`beside-${size}-${theme}`)) await troublesAndPlaces(browser, size, theme);
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
  const take = taker(page, folder);
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
  console.log(folder);
  await context.close();
  await bay.close();
}

/** Numbered in the order taken. */
function taker(page: Page, folder: string) {
  mkdirSync(folder, { recursive: true });
  let taken = 0;
  return async (name: string, fullPage = false) => {
    taken += 1;
    const file = `${String(taken).padStart(2, '0')}-${name.replaceAll(/\W+/g, '-')}.png`;
    await page.screenshot({ path: join(folder, file), fullPage });
  };
}

/** A job in which the cable is pulled and the wrong tip is taken, turned by the live height; then every other place. */
async function troublesAndPlaces(browser: Browser, size: keyof typeof SIZES, theme: 'light' | 'dark') {
  const bay = await openBay({ pace: 5, seed: 3 });
  const context = await browser.newContext({ viewport: SIZES[size], hasTouch: true, colorScheme: theme });
  const page = await context.newPage();
  const folder = join(FOLDER, `beside-${size}-${theme}`);
  const take = taker(page, folder);
  await page.goto(bay.address);
  await begin(page, 'touch', { use: 'Levelling', model: 'Orrinshaw 106', serial: 'INVENTED-1' });
  let tips = 0;
  let turns = 0;
  await workThrough(page, 'touch', async ({ asks, task }, question) => {
    if (asks === 'check reading') await take('wrong tip');
    const byLive = question.getByRole('button', { name: /by the live height/i });
    if ((await byLive.count()) > 0) {
      await take('how to turn');
      await byLive.tap();
      return 'answered';
    }
    if (asks === 'turn' && task.includes('stands at') && (turns += 1) === 1) {
      await page.locator('.live[data-turning]').waitFor();
      await take('turning');
      await page.locator('.live[data-turning="stop"]').waitFor();
      await take('stop turning');
    }
    if (asks !== 'read' || task.includes('height master')) return undefined;
    tips += 1;
    if (tips === 2) {
      bay.bench.fixture()?.unplug();
      await page.getByText('is not to be heard').waitFor();
      await take('fixture gone');
      bay.bench.fixture()?.plugIn();
      await page.getByText('is not to be heard').waitFor({ state: 'detached' });
      // It is asked anew.
      return 'answered';
    }
    // The other blade is not where this one is.
    if (tips === 4) bay.bench.shop()?.technician.clampOn(task.includes('left blade') ? 'right' : 'left', 'A');
    return undefined;
  });
  await page.goto(`${bay.address}#/job`);
  await page.getByRole('button', { name: 'New job' }).tap();
  for (const place of PLACES) {
    await page.goto(`${bay.address}#/${encodeURI(place)}`);
    await page.waitForLoadState('networkidle');
    await take(place.replaceAll('/', ' '), true);
  }
  await page.getByRole('button', { name: 'Study of clampings' }).tap();
  await take('study form', true);
  await page.getByRole('button', { name: 'Daily check now' }).tap();
  for (let i = 0; i < 4; i += 1) {
    const question = page.locator('.question[data-ready="true"]');
    await question.waitFor();
    const n = await question.getAttribute('data-n');
    if (i === 1) await take('check');
    await question.getByRole('button', { name: 'capture' }).tap();
    await page.locator(`.question[data-n="${n}"]`).waitFor({ state: 'detached' });
  }
  await page.locator('.session .done').waitFor();
  await take('check done', true);
  await page.getByRole('button', { name: 'Put it away' }).tap();
  await page.goto(`${bay.address}#/job`);
  await bay.server.close();
  await page.getByText('is not to be heard').waitFor();
  await take('server gone');
  console.log(folder);
  await context.close();
  await bay.desk.close();
}
