/**
 * An adjuster turned by the live height, by touch, in a real browser: the screen says when to stop, when it is past the
 * mark and when it goes the wrong way, at once and in words. The simulated technician turns as the screen says; then his
 * hands slip, which the test has them do.
 */
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { faultsOf, hasChromium, HOW_TO_ENABLE, openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough } from './person';

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

/** What the screen calls right (0.15 mm), with the rounding of the two numbers on it. */
const STOPS_WITHIN_MM = 0.15 + 0.05 + 0.01;
/** The height that is shown together with the word to stop; 0 without it. */
const HEIGHT_AT_STOP = `(() => {
  const live = document.querySelector('.live[data-turning="stop"]');
  return live === null ? 0 : Number(live.querySelector('.whole').innerText + live.querySelector('.decimals').innerText);
})()`;
const state = (page: Page) => page.locator('.live').getAttribute('data-turning');
/** Where the bar ends, on the screen: 0 at its foot, 1 at its mark. */
const share = (page: Page) =>
  page.evaluate<number>(`(() => {
    const middle = (of) => { const r = document.querySelector('.live-turn ' + of).getBoundingClientRect(); return r.y + r.height / 2; };
    const foot = middle('.thick:not(.now)');
    return (middle('.now') - foot) / (middle('.mark') - foot);
  })()`);

it.skipIf(!hasChromium)(
  `turned by the live height: stop, past it and wrong way are on the screen as the tip moves${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const bay = await openBay({ pace: 2, seed: 3 });
    const page = await browser.newPage({ viewport: SIZES.tablet, hasTouch: true });
    const faults = faultsOf(page);
    await page.goto(bay.address);
    await begin(page, 'touch', { use: 'Levelling', model: 'Pimwick 76', serial: 'INVENTED-1' });
    class Turned extends Error {}
    let isTurned = false;
    const work = workThrough(page, 'touch', async ({ asks, task }, question) => {
      if (isTurned) throw new Turned();
      const offer = question.getByRole('button', { name: /by the live height/i });
      if ((await offer.count()) > 0) {
        await offer.tap();
        return 'answered';
      }
      const [, adjuster = '', way, target = ''] =
        /^Turn (.+): (raise|lower), .* stands at (\d+\.\d) mm$/.exec(task) ?? [];
      if (asks !== 'turn' || target === '') return undefined;
      isTurned = true;
      // He turns until the screen has him stop, at the height that was asked for.
      let stoppedMm = 0;
      await expect
        .poll(async () => (stoppedMm = await page.evaluate<number>(HEIGHT_AT_STOP)), { timeout: 60_000 })
        .toBeGreaterThan(0);
      expect(Math.abs(stoppedMm - Number(target))).toBeLessThan(STOPS_WITHIN_MM);
      await expect.poll(() => share(page)).toBeCloseTo(1, 0);
      const technician = bay.bench.shop()?.technician;
      if (technician === undefined) throw new Error('no shop');
      // The wrench is taken from him, or he would go on doing as the screen says.
      const wrench = technician.turn.bind(technician);
      Object.assign(technician, { turn: () => 0 });
      const on = way === 'raise' ? 1 : -1;
      const turning = page.locator('.turning');
      /** Turns bit by bit until the screen says so; whatever sticks is pressed down. */
      const turnUntil = (says: string, turns: () => Promise<number>) =>
        expect
          .poll(
            async () => {
              wrench(adjuster, await turns());
              technician.pressDown();
              await new Promise((resolve) => setTimeout(resolve, 400));
              return state(page);
            },
            { timeout: 40_000 },
          )
          .toBe(says);
      await turnUntil('past it', () => Promise.resolve(on / 3));
      expect(await turning.innerText()).toMatch(/^past it\s+turn back, \d+\.\d mm (up|down) to go$/i);
      expect(await share(page)).toBeGreaterThan(1);
      await turnUntil('wrong way', () => Promise.resolve(-on));
      expect(await turning.innerText()).toMatch(/^wrong way\s+turn the other way/i);
      expect(await share(page)).toBeLessThan(0);
      // As the screen says: so far up or down.
      await turnUntil('stop', async () => {
        const [, mm = '', goes] = /(\d+\.\d) mm (up|down) to go/.exec(await turning.innerText()) ?? [];
        return (Number(mm) / 4) * (goes === 'down' ? -1 : 1);
      });
      return undefined;
    });
    await expect(work).rejects.toThrow(Turned);
    const turned = bay.desk.ledger.events(1).flatMap(({ event }) => (event.type === 'turned' ? [event] : []));
    expect(turned.at(-1)).toMatchObject({ live: true });
    expect(faults).toEqual([]);
    await page.close();
    await bay.close();
  },
);
