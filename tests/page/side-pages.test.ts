/** The pages beside the job, in a real browser: machines, records, bay, fixture. */
import { AxeBuilder } from '@axe-core/playwright';
import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { machineFromTape } from '../../host/machines/from-tape';
import { RECORD_FORMAT } from '../../host/report/record-json';
import { TARNBECK_90 } from '../unit/machines/tarnbeck';
import {
  faultsOf,
  hasChromium,
  HOW_TO_ENABLE,
  openBay,
  openBrowser,
  SIZES,
  type BayWithPage,
} from './browser';
import { jobInLog } from './job-in-log';

let browser: Browser;
let bay: BayWithPage;
beforeAll(async () => {
  if (!hasChromium) return;
  browser = await openBrowser();
  bay = await openBay({ log: await jobInLog('INVENTED-77') });
});
afterAll(async () => {
  await browser?.close();
  await bay?.close();
});

async function open(
  hash: string,
  size: keyof typeof SIZES = 'tablet',
): Promise<{ page: Page; faults: string[] }> {
  // A context of its own: axe wants one.
  const context = await browser.newContext({ viewport: SIZES[size], hasTouch: size !== 'laptop' });
  const page = await context.newPage();
  const faults = faultsOf(page);
  await page.goto(`${bay.address}${hash}`);
  await page.locator('main h1').waitFor();
  return { page, faults };
}

it.skipIf(!hasChromium)(
  `a machine is typed, drawn meanwhile, saved, taken out as a file and in again${HOW_TO_ENABLE}`,
  { timeout: 120_000 },
  async () => {
    const { page, faults } = await open('#/machines/new');
    await page.getByRole('button', { name: 'Save this machine' }).click();
    // Every fault stands beside its field, by number; the first is gone to.
    await page.locator('.fault').first().waitFor();
    expect(await page.locator('.fault').count()).toBeGreaterThanOrEqual(9);
    expect(await page.locator('#model-about').innerText()).toContain('E306');
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('model');
    await page.getByLabel('What is it called?').fill(TARNBECK_90.model);
    await page.getByText('Hung between the axles').click();
    await page.getByRole('radio', { name: '2', exact: true }).check();
    for (const field of [
      'bladeLengthMm',
      'spacingMm',
      'staggerMm',
      'wheelbaseMm',
      'frontTrackMm',
      'rearTrackMm',
      'cutHeightMm',
    ] as const)
      await page.locator(`#${field}`).fill(`${TARNBECK_90[field]}`);
    await page.getByRole('radio', { name: 'clockwise', exact: true }).check();
    await page.locator('.fault').first().waitFor({ state: 'detached' });
    // Drawn to scale from what was typed: 230 mm radius, 440 mm apart, 150 mm staggered.
    const [left, right] = await page
      .locator('.blade-circle > circle')
      .evaluateAll((all) => all.map((c) => ['cx', 'cy', 'r'].map((a) => Number(c.getAttribute(a)))));
    expect([right?.[0], left?.[0], left?.[2]]).toEqual([220, -220, 230]);
    expect((left?.[1] ?? 0) - (right?.[1] ?? 0)).toBeCloseTo(150, 6);
    // Blades that would hit each other are refused beside the field to look at.
    await page.locator('#spacingMm').fill('300');
    await page.locator('#spacingMm-about .fault').waitFor();
    expect(await page.locator('#spacingMm-about').innerText()).toMatch(/E303.*collide/);
    await page.locator('#spacingMm').fill('440');
    await page.locator('.fault').first().waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Save this machine' }).click();
    await page.getByRole('heading', { name: TARNBECK_90.model }).waitFor();
    const [saving] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: 'Save its profile as a file' }).click(),
    ]);
    const text = readFileSync(await saving.path(), 'utf8');
    expect(JSON.parse(text)).toEqual(machineFromTape(TARNBECK_90));
    // In again under another name; under its own it is refused, for it would write over the first.
    await page.getByRole('link', { name: 'All machines' }).click();
    const file = (content: string) => ({
      name: 'tarn.json',
      mimeType: 'application/json',
      buffer: Buffer.from(content),
    });
    await page.locator('input[type=file]').setInputFiles(file(text));
    await page.locator('.refusal').waitFor();
    expect(await page.locator('.refusal').innerText()).toContain(
      "E307: a machine of this name is on the shop's shelf already ('Tarnbeck 90')",
    );
    await page.locator('input[type=file]').setInputFiles(file(text.slice(0, 200)));
    await expect.poll(() => page.locator('.refusal').innerText()).toContain('E301');
    await page
      .locator('input[type=file]')
      .setInputFiles(file(text.replace(TARNBECK_90.model, 'Tarnbeck 91')));
    await page.getByRole('heading', { name: 'Tarnbeck 91' }).waitFor();
    expect(faults.filter((f) => !f.includes('422'))).toEqual([]);
  },
);

it.skipIf(!hasChromium)(
  `lengths are typed in inches and fractions where the screen shows them${HOW_TO_ENABLE}`,
  { timeout: 120_000 },
  async () => {
    const { page } = await open('#/machines/new', 'phone');
    await page.getByLabel('Units').selectOption('inch fractions');
    await page.getByLabel(/One blade, from tip to tip, in/).fill('18 1/2');
    // 18 1/2 in are 469.9 mm, half of it is the radius.
    await expect
      .poll(() => page.locator('.blade-circle > circle').first().getAttribute('r'))
      .toBe(String(Math.round(469.9 * 5) / 10));
  },
);

it.skipIf(!hasChromium)(
  `a record is found by serial number, model, technician or day, looked at, and its sheet taken away${HOW_TO_ENABLE}`,
  { timeout: 120_000 },
  async () => {
    const { page, faults } = await open('#/records');
    const found = page.getByRole('status').filter({ hasText: 'job' });
    for (const [fits, not] of [
      ['invented-77', '78'],
      ['dunfallow', 'pimwick'],
      ['Invented P', 'Nobody'],
      ['W-1', 'W-2'],
    ] as const) {
      await page.getByLabel('Serial number').fill(not);
      await expect.poll(() => found.innerText()).toBe('0 jobs');
      await page.getByLabel('Serial number').fill(fits);
      await expect.poll(() => found.innerText()).toBe('1 job');
    }
    await page.getByLabel('From').fill('2199-01-01');
    await expect.poll(() => found.innerText()).toBe('0 jobs');
    await page.getByLabel('From').fill('2001-01-01');
    await page.getByRole('link', { name: /INVENTED-77/ }).click();
    await page.locator('.result-mark').waitFor();
    for (const drawing of ['deck-from-above', 'before-after', 'side-view', 'swath-profile'])
      expect(await page.locator(`svg.${drawing}`).count()).toBeGreaterThan(0);
    const [sheet] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: /Delivery sheet/ }).click(),
    ]);
    expect(
      readFileSync(await sheet.path())
        .subarray(0, 5)
        .toString(),
    ).toBe('%PDF-');
    const [record] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: /JSON/ }).click(),
    ]);
    expect(JSON.parse(readFileSync(await record.path(), 'utf8'))).toMatchObject({ format: RECORD_FORMAT });
    await page.getByRole('link', { name: 'History of serial number INVENTED-77' }).click();
    await expect
      .poll(() => page.getByRole('status').filter({ hasText: 'job' }).innerText())
      .toMatch(/^1 job/);
    expect(await page.locator('svg.chart').count()).toBeGreaterThan(3);
    expect(faults).toEqual([]);
  },
);

it.skipIf(!hasChromium)(
  `the bay says what is known of its floor and what to do next${HOW_TO_ENABLE}`,
  async () => {
    const { page, faults } = await open('#/bay');
    await page.locator('svg.bay-floor').waitFor();
    const text = await page.locator('main').innerText();
    expect(text).toContain('surveyed');
    expect(text).toMatch(/good until \d{4}-\d{2}-\d{2}/);
    expect(text).toMatch(/slope along the bay\s+−?\d+\.\d mm\/m/);
    expect(faults).toEqual([]);
  },
);

it.skipIf(!hasChromium)(
  `axe finds nothing on any of these pages, in either theme${HOW_TO_ENABLE}`,
  { timeout: 120_000 },
  async () => {
    const places = [
      '#/machines',
      '#/machines/new',
      `#/machines/of/${encodeURIComponent('Dunfallow 116')}`,
      '#/records',
      '#/records/1',
      '#/records/history/model/Dunfallow%20116',
      '#/bay',
      '#/fixture',
    ];
    const { page } = await open(places[0] ?? '');
    for (const theme of ['Dark', 'Light']) {
      const button = page.getByRole('button', { name: theme, exact: true });
      if ((await button.count()) > 0) await button.click();
      for (const place of places) {
        await page.goto(`${bay.address}${place}`);
        await page.locator('main h1').waitFor();
        await page.waitForLoadState('networkidle');
        if (place.endsWith('new')) await page.getByRole('button', { name: 'Save this machine' }).click();
        const { violations } = await new AxeBuilder({ page }).analyze();
        expect(violations.map((v) => `${place}, ${theme}: ${v.id} ${v.nodes[0]?.html ?? ''}`)).toEqual([]);
      }
    }
  },
);
