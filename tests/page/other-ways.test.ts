/** Other ways through a job at the page, by touch, in a real browser: with a ruler, in a batch, with a reading put right. */
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { faultsOf, hasChromium, HOW_TO_ENABLE, openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough } from './person';

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

const test = it.skipIf(!hasChromium);
/** Thrown to leave a job where it is. */
class Here extends Error {}

/** Reads the ruler as the simulated technician does, and taps its height digit by digit. */
async function tapRuler(page: Page, question: Locator): Promise<string> {
  const notice = page.locator('.notice', { hasText: 'the ruler shows' });
  const [, height = ''] = /the ruler shows (\d+\.\d) mm/.exec(await notice.innerText()) ?? [];
  for (const digit of height.replace('.', ','))
    await question.locator('.pad').getByRole('button', { name: digit, exact: true }).tap();
  await question.getByRole('button', { name: 'Enter' }).tap();
  return height;
}

test(
  `a batch read with a ruler: digits by touch, and four touches from the next serial number to its first reading${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const bay = await openBay({ pace: 8, seed: 3 });
    const page = await browser.newPage({ viewport: SIZES.phone, hasTouch: true });
    const faults = faultsOf(page);
    await page.goto(bay.address);
    await page.getByRole('checkbox', { name: /^A batch/ }).tap();
    await page.getByRole('checkbox', { name: /^No fixture/ }).tap();
    await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: 'INVENTED-1' });
    const heights: number[] = [];
    await workThrough(page, 'touch', async ({ asks }, question) => {
      if (asks !== 'read by ruler') return undefined;
      heights.push(Number(await tapRuler(page, question)));
      return 'answered';
    });
    const eventsOf = (job: number) => bay.desk.ledger.events(job).map((e) => e.event);
    const read = eventsOf(1).flatMap((e) => (e.type === 'ruler read' ? [e.heightMm] : []));
    expect(read).toEqual(heights);
    expect(read.length).toBeGreaterThan(3);

    await page.getByLabel('Next machine of the batch').fill('INVENTED-2');
    await page.getByRole('button', { name: 'Go on' }).tap();
    await page.locator('.job-head', { hasText: 'job 2' }).waitFor();
    // Go on; cautions read; every line holds here too; deck pressed down.
    let touches = 1;
    await workThrough(page, 'touch', ({ asks }) => {
      if (asks === 'read by ruler') throw new Here();
      touches += 1;
      return Promise.resolve();
    }).catch((error: unknown) => {
      if (!(error instanceof Here)) throw error;
    });
    expect(touches).toBe(4);
    expect(eventsOf(2)[0]).toMatchObject({ serialNumber: 'INVENTED-2', carried: { fromJob: 1 } });
    expect(eventsOf(2)).toContainEqual({ type: 'carried over', job: 2, answer: 'the same' });
    expect(faults).toEqual([]);
    await page.close();
    await bay.close();
  },
);

test(
  `a reading is set aside, and a clamp that came off is clamped anew, by touch: the tip is asked for again${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const bay = await openBay({ pace: 8, seed: 3 });
    const page = await browser.newPage({ viewport: SIZES.tablet, hasTouch: true });
    await page.goto(bay.address);
    await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: 'INVENTED-1' });
    const putRight = async (kind: string, reading: string) => {
      await page.getByRole('button', { name: 'More' }).tap();
      await page.getByLabel('Put right or write down').selectOption(kind);
      const which = page.getByLabel('Which reading');
      const option = which.locator('option', { hasText: reading }).last();
      await which.selectOption((await option.getAttribute('value')) ?? '');
      await page.getByLabel('Why').fill('clamped on the weld (invented)');
      await page.getByRole('button', { name: 'Write it down' }).tap();
      await page.getByRole('dialog').waitFor({ state: 'detached' });
    };
    const asked: string[] = [];
    let aside = '';
    let cameOff = '';
    await workThrough(page, 'touch', async ({ asks, task }, question) => {
      if (asks !== 'read' || task.includes('height master')) return undefined;
      asked.push(task);
      if (cameOff === '' && task.startsWith('Turn the blade')) {
        cameOff = task;
        await question.getByRole('button', { name: 'I clamped it anew' }).tap();
        return 'answered';
      }
      if (asked.length !== 3) return undefined;
      aside = await page.locator('table.readings tbody th').first().innerText();
      await putRight('set aside', aside);
      await page.locator('tr.set-aside', { hasText: aside }).waitFor();
      // The job is taken up anew: it is asked again.
      return 'answered';
    });
    expect(asked[0]).toContain(aside);
    expect(asked[asked.indexOf(cameOff) + 1]).toBe(cameOff.replace('Turn the blade', 'Clamp the fixture on'));
    expect(asked.slice(2).some((task) => task.includes(aside))).toBe(true);
    const setAside = () =>
      bay.desk.ledger.events(1).flatMap(({ event }) => (event.type === 'set aside' ? [event] : []));
    expect(setAside()).toMatchObject([{ reason: 'clamped on the weld (invented)' }]);
    expect(await page.locator('h1.closed').innerText()).toMatch(/^(pass|fail|can't tell yet)$/i);
    await page.close();
    await bay.close();
  },
);
