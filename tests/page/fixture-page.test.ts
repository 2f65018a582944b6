/** The daily check and a study at the page, in a real browser, with the simulated fixture on its height master. */
import { AxeBuilder } from '@axe-core/playwright';
import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, expect, it } from 'vitest';
import { calibrationsInLog, historiesInLog, sessionsInLog } from '../../host/conduct/gauging-in-log';
import { checkedEquipment } from '../../host/gauging/equipment';
import { NOMINAL_HEIGHT_MASTER } from '../../host/gauging/height-master';
import {
  faultsOf,
  hasChromium,
  HOW_TO_ENABLE,
  openBay,
  openBrowser,
  SIZES,
  type BayWithPage,
} from './browser';

const MASTER_MM = NOMINAL_HEIGHT_MASTER.edges.flatMap((e) => [e.lowMm, e.highMm]);

let browser: Browser;
let bay: BayWithPage;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());
beforeEach(async () => {
  if (hasChromium) bay = await openBay();
});
afterEach(() => bay?.close());

async function open(size: keyof typeof SIZES): Promise<{ page: Page; faults: string[] }> {
  const context = await browser.newContext({ viewport: SIZES[size], hasTouch: size !== 'laptop' });
  const page = await context.newPage();
  const faults = faultsOf(page);
  await page.goto(`${bay.address}#/fixture`);
  await page.getByRole('heading', { name: 'Fixture', exact: true }).waitFor();
  return { page, faults };
}

/** Does `answer` for every step that is asked until the session is done; gives what was asked. */
async function workThrough(page: Page, answer: () => Promise<void>): Promise<string[]> {
  const said: string[] = [];
  for (let before = ''; ;) {
    const next = page
      .locator(`.question:not([data-n="${before}"])[data-ready="true"], .session .done`)
      .first();
    await next.waitFor();
    before = (await next.getAttribute('data-n')) ?? '';
    if (before === '') return said;
    said.push(await page.locator('.session h1').innerText());
    await answer();
  }
}

it.skipIf(!hasChromium)(
  `a daily check by keyboard alone, read four times on its height master${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const { page, faults } = await open('laptop');
    await page.getByLabel('Technician').focus();
    await page.keyboard.type('Invented Person');
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    const said = await workThrough(page, () => page.keyboard.press(' '));
    // Low, high, low, high: each seated anew.
    expect(said).toHaveLength(4);
    expect(said.every((text) => /set the fixture anew on the edge at \d+\.\d\d mm/i.test(text))).toBe(true);
    expect(await page.locator('.session .done .state').innerText()).toContain('In control');
    expect(await page.locator('.session svg.chart').count()).toBe(2);
    const [history] = historiesInLog(bay.desk.ledger);
    expect(history?.checks).toHaveLength(1);
    expect(sessionsInLog(bay.desk.ledger)[0]?.opened.technician).toBe('Invented Person');
    expect((await new AxeBuilder({ page }).analyze()).violations.map((v) => v.id)).toEqual([]);
    // Put away, the state of the fixture stands on the page.
    await page.getByRole('button', { name: 'Put it away' }).click();
    await page.getByRole('heading', { name: `Fixture ${history?.fixtureId}` }).waitFor();
    expect(await page.locator('main').innerText()).toContain('✓ in control');
    expect(faults).toEqual([]);
  },
);

it.skipIf(!hasChromium)(
  `a daily check by touch, laid aside and seen from a second screen; no job beside it${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const { page } = await open('phone');
    const second = await open('tablet');
    await page.getByRole('button', { name: 'Daily check now' }).tap();
    await page.locator('.question[data-ready="true"]').waitFor();
    expect(() =>
      bay.desk.open({
        use: 'inspection',
        model: 'Pimwick 76',
        serialNumber: '',
        workOrder: '',
        technician: '',
      }),
    ).toThrow('E511');
    await page.getByRole('button', { name: /^capture/ }).tap();
    await second.page.locator('.session .taken li').waitFor();
    expect(await second.page.locator('.session .aside').innerText()).toMatch(/2 of 4|1 of 4/);
    await second.page.getByRole('button', { name: /Lay it aside/ }).tap();
    await page.getByRole('button', { name: 'Daily check now' }).waitFor();
    // What was read is in the log, and the session is open there.
    expect(sessionsInLog(bay.desk.ledger)).toMatchObject([{ closed: false, nextStep: 2 }]);
    await page.getByRole('button', { name: 'Daily check now' }).tap();
    await workThrough(page, () => page.getByRole('button', { name: /^capture/ }).tap());
    expect(await page.locator('.session .done .state').innerText()).toContain('✓');
  },
);

it.skipIf(!hasChromium)(
  `a study in the order of its lot, analysed at once; one that is too small is refused by number${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const { page } = await open('tablet');
    await page.getByRole('button', { name: 'Study of clampings' }).click();
    await page.getByLabel('Tips to clamp on').fill('left A, right A');
    await page.getByLabel('Technicians, with commas').fill('Invented One, Invented Two');
    await page.getByLabel('How often').fill('1');
    await page.getByRole('button', { name: 'Begin the study' }).click();
    await expect.poll(() => page.locator('.refusal').innerText()).toContain('E473');
    await page.getByRole('button', { name: /Lay it aside/ }).click();
    await page.getByRole('button', { name: 'Study of clampings' }).click();
    await page.getByLabel('Tips to clamp on').fill('left A, right A');
    await page.getByLabel('Technicians, with commas').fill('Invented One, Invented Two');
    await page.getByLabel('How often').fill('2');
    await page.getByRole('button', { name: 'Begin the study' }).click();
    const said = await workThrough(page, () => page.getByRole('button', { name: /^capture/ }).click());
    expect(said).toHaveLength(8);
    expect(said[0]).toMatch(
      /Invented (One|Two) takes over and takes the fixture off and clamps it anew on: (left|right) A/,
    );
    const done = await page.locator('.session .done').innerText();
    expect(done).toContain('2 parts, 2 operators, 2 trials');
    expect(done).toContain('Analysis of variance');
    // What a simulated fixture shows says nothing of this shop.
    expect(await page.getByRole('button', { name: /^Accept it/ }).count()).toBe(0);
    expect((await new AxeBuilder({ page }).analyze()).violations.map((v) => v.id)).toEqual([]);
  },
);

it.skipIf(!hasChromium)(
  `a calibration is refused by number without references, and taken to the end with them${HOW_TO_ENABLE}`,
  { timeout: 240_000 },
  async () => {
    const { page } = await open('laptop');
    await page.getByRole('button', { name: 'Calibrate' }).click();
    await expect.poll(() => page.locator('.refusal').innerText()).toContain('E479');
    await page.getByRole('button', { name: /Lay it aside/ }).click();
    const entry = {
      certificate: 'INVENTED-1',
      laboratory: 'Invented Laboratory',
      calibratedOn: '2026-01-01',
      due: '2199-01-01',
    };
    for (const equipment of [
      { ...entry, id: 'HM-1', kind: 'height master', expandedUncertainty: 0.01, values: MASTER_MM },
      {
        ...entry,
        id: 'GB-1',
        kind: 'gauge blocks',
        expandedUncertainty: 0.001,
        values: [5, 15, 25, 32, 35, 45, 55, 58],
      },
    ] as const)
      bay.desk.ledger.appendOfShop({
        type: 'equipment registered',
        equipment: checkedEquipment(equipment),
        on: '2026-01-02',
      });
    await page.getByRole('button', { name: 'Calibrate' }).click();
    const said = await workThrough(page, () => page.keyboard.press(' '));
    expect(said.some((text) => /gauge block/.test(text))).toBe(true);
    expect(said.some((text) => /turn the height master/i.test(text))).toBe(true);
    expect(await page.locator('.session .done .state').innerText()).toContain('Written to fixture SIM-0');
    expect(await page.locator('.session .done').innerText()).toContain('not an accredited certificate');
    expect(calibrationsInLog(bay.desk.ledger)).toHaveLength(1);
    await page.getByRole('button', { name: 'Put it away' }).click();
    const [saved] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: 'PDF' }).click(),
    ]);
    expect(
      readFileSync(await saved.path())
        .subarray(0, 5)
        .toString(),
    ).toBe('%PDF-');
  },
);

it.skipIf(!hasChromium)(
  `a study is accepted by touch, and jobs opened from then on count with it${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    await bay.close();
    bay = await openBay({ asIfReal: true });
    const { page } = await open('phone');
    const take = async (tips: string, technicians: string, repeats: string) => {
      await page.getByRole('button', { name: 'Study of clampings' }).tap();
      await page.getByLabel('Technician', { exact: true }).fill('Invented Person');
      await page.getByLabel('Tips to clamp on').fill(tips);
      await page.getByLabel('Technicians, with commas').fill(technicians);
      await page.getByLabel('How often').fill(repeats);
      await page.getByRole('button', { name: 'Begin the study' }).tap();
      await workThrough(page, () => page.getByRole('button', { name: /^capture/ }).tap());
    };
    const accept = () => page.getByRole('button', { name: /^Accept it/ }).tap();
    await take('left A, right A', 'Invented One, Invented Two', '2');
    await accept();
    await expect.poll(() => page.locator('.done .refusal').innerText()).toContain('E476');
    await page.getByRole('button', { name: 'Put it away' }).tap();
    // So many that chance does not leave it with too few degrees of freedom.
    await take('left A, left B, right A, right B', 'Invented One, Invented Two, Invented Three', '3');
    await accept();
    await page.getByRole('heading', { name: 'Study accepted' }).waitFor();
    expect(await page.locator('.done').innerText()).toContain('jobs opened from now on count with');
    expect(await page.getByRole('button', { name: /^Accept it/ }).count()).toBe(0);
    const [event, ...others] = bay.desk.ledger.shopEvents().filter((e) => e.type === 'study accepted');
    expect(others).toEqual([]);
    expect(event).toMatchObject({ by: 'Invented Person', width: { tips: 4, technicians: 3, repeats: 3 } });
    await page.getByRole('button', { name: 'Put it away' }).tap();
    const job = bay.desk.open({
      use: 'inspection',
      model: 'Pimwick 76',
      serialNumber: '',
      workOrder: '',
      technician: '',
    });
    const known = bay.desk.ledger.events(job).find((e) => e.event.type === 'instruments known');
    expect(known?.event).toMatchObject({ known: { placement: { repeats: 3 } } });
  },
);
