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
/** Of the wrench, until the screen has to say what it should. */
const MOST_BITS = 60;
/** Of simulated time: then a deck that was let go is still, and the mean that is shown is of it alone. */
const RINGS_OUT_MS = 1500;
/** By the clock: a height's way to the screen. */
const REACHES_PAGE_MS = 250;
/** The height that is shown together with the word to stop; 0 without it. */
const HEIGHT_AT_STOP = `(() => {
  const live = document.querySelector('.live[data-turning="stop"]');
  return live === null ? 0 : Number(live.querySelector('.whole').innerText + live.querySelector('.decimals').innerText);
})()`;
/** What the screen shows of a turn, all of one moment; the bar ends at 0 at its foot, at 1 at its mark. */
interface Shown {
  readonly state: string;
  readonly says: string;
  readonly share: number;
}
const shown = (page: Page) =>
  page.evaluate<Shown>(`(() => {
    const middle = (of) => { const r = document.querySelector('.live-turn ' + of).getBoundingClientRect(); return r.y + r.height / 2; };
    const foot = middle('.thick:not(.now)');
    return {
      state: document.querySelector('.live').dataset.turning,
      says: document.querySelector('.turning').innerText,
      share: (middle('.now') - foot) / (middle('.mark') - foot),
    };
  })()`);

/** Whether word, number and bar stand on the screen, above the key. */
const isInSight = (page: Page) =>
  page.evaluate<boolean>(`(() => {
    const box = (of) => document.querySelector(of).getBoundingClientRect();
    return box('.live').top >= 0 && Math.max(box('.turning').bottom, box('.live-turn').bottom) <= box('.actions').top;
  })()`);

async function expectInSight(page: Page): Promise<void> {
  for (const size of [SIZES.phone, SIZES.laptop, { width: 1024, height: 768 }, SIZES.tablet]) {
    await page.setViewportSize(size);
    await expect.poll(() => isInSight(page), { message: `${size.width} wide` }).toBe(true);
  }
}

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
      await expect.poll(async () => (await shown(page)).share).toBeCloseTo(1, 0);
      const technician = bay.bench.shop()?.technician;
      const fixture = bay.bench.fixture();
      if (technician === undefined || fixture === undefined) throw new Error('no shop');
      // The wrench is taken from him, or he would go on doing as the screen says.
      const wrench = technician.turn.bind(technician);
      Object.assign(technician, { turn: () => 0 });
      const on = way === 'raise' ? 1 : -1;
      /** Turns bit by bit until the screen says so; whatever sticks is pressed down. Gives what was shown then. */
      const turnUntil = async (state: string, turns: (before: Shown) => number): Promise<Shown> => {
        let now = await shown(page);
        for (let bits = 0; now.state !== state; bits += 1) {
          if (bits === MOST_BITS) throw new Error(`never "${state}", but "${now.says}"`);
          const busyMs = wrench(adjuster, turns(now)) + technician.pressDown();
          const stillUs = fixture.nowUs + 1000 * (busyMs + RINGS_OUT_MS);
          await expect.poll(() => fixture.nowUs).toBeGreaterThan(stillUs);
          await new Promise((resolve) => setTimeout(resolve, REACHES_PAGE_MS));
          now = await shown(page);
        }
        return now;
      };
      const past = await turnUntil('past it', () => on / 3);
      expect(past.says).toMatch(/^past it\s+turn back, \d+\.\d mm (up|down) to go$/i);
      expect(past.share).toBeGreaterThan(1);
      await expectInSight(page);
      const wrong = await turnUntil('wrong way', () => -on);
      expect(wrong.says).toMatch(/^wrong way\s+turn the other way/i);
      expect(wrong.share).toBeLessThan(0);
      // As the screen says: so far up or down.
      await turnUntil('stop', ({ says }) => {
        const [, mm = '', goes] = /(\d+\.\d) mm (up|down) to go/.exec(says) ?? [];
        return (Number(mm) / 2.5) * (goes === 'down' ? -1 : 1);
      });
      await expectInSight(page);
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
