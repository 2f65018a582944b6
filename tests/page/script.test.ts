/**
 * Script in every text field of the page, in the machine files that are taken in, and in addresses: it is refused by number,
 * or stands there as text. It runs nowhere: no dialog opens, no element comes of it, and the browser's own guard (Content
 * Security Policy level 3 with Trusted Types, W3C) has nothing to report.
 */
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { machineFromTape } from '../../host/machines/from-tape';
import {
  faultsOf,
  hasChromium,
  HOW_TO_ENABLE,
  openBay,
  openBrowser,
  SIZES,
  type BayWithPage,
} from './browser';
import { workThrough } from './person';

const SCRIPT = `"><img src=x onerror=alert(1)><script>alert(2)</script>{{7*7}}`;
/** Names of a machine are at most 60 characters long. */
const SHORT = `"><img src=x onerror=alert(1)>`;

let browser: Browser;
let bay: BayWithPage;
beforeAll(async () => {
  if (!hasChromium) return;
  browser = await openBrowser();
  bay = await openBay({ pace: 8 });
});
afterAll(async () => {
  await browser?.close();
  await bay?.close();
});

const test = it.skipIf(!hasChromium);

interface Watched {
  readonly page: Page;
  /** Fails where anything ran, or was kept from running. */
  readonly inert: () => Promise<void>;
}

async function open(hash: string): Promise<Watched> {
  const page = await browser.newPage({ viewport: SIZES.laptop });
  const faults = faultsOf(page);
  const dialogs: string[] = [];
  page.on('dialog', (dialog) => {
    dialogs.push(dialog.message());
    void dialog.dismiss();
  });
  await page.addInitScript(
    `window.reports = []; addEventListener('securitypolicyviolation', (e) => reports.push(e.violatedDirective));`,
  );
  await page.goto(`${bay.address}${hash}`);
  return {
    page,
    inert: async () => {
      expect(await page.locator('img, script:not([src]), [onerror]').count()).toBe(0);
      expect(await page.evaluate('reports')).toEqual([]);
      expect(dialogs).toEqual([]);
      // What the server refuses the browser calls an error: that is the refusal, and it was looked at.
      expect(faults.filter((f) => !/status of 4\d\d/.test(f))).toEqual([]);
    },
  };
}

/** Script into every text field there; gives how many there were. */
async function fillAll(place: Locator): Promise<number> {
  const fields = place.locator(
    'input:not([type]), input[type=text], input[type=search], input[type=password], textarea',
  );
  for (const field of await fields.all()) await field.fill(SCRIPT);
  return fields.count();
}

const refusal = (page: Page) => page.locator('.refusal').first().innerText();

/** Works on until something is asked for which the rest of a test waits. */
async function workUntil(page: Page, asks: string): Promise<void> {
  class Here extends Error {}
  await workThrough(page, 'keys', async (step, question) => {
    if (step.asks === asks) throw new Here();
    if ((await question.locator('.typing input').count()) === 0) return undefined;
    await fillAll(question);
    await question.getByRole('button', { name: 'Enter' }).click();
    if (step.asks === 'state claim') return 'answered';
    // Where a number is wanted the page says at once that this is none; the usual answer is given then.
    await expect.poll(() => refusal(page)).toContain('that is no number');
    return undefined;
  }).catch((error: unknown) => {
    if (!(error instanceof Here)) throw error;
  });
}

test(
  `in a job: who and what for, claim, numbers, everything that is put right, the next of a batch${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const { page, inert } = await open('');
    await page.getByRole('radio', { name: 'Warranty' }).check();
    await page.getByRole('radio', { name: 'Pimwick 76' }).check();
    await page.getByRole('checkbox', { name: 'A batch' }).check();
    expect(await fillAll(page.locator('form'))).toBe(4);
    await page.getByRole('button', { name: 'Begin' }).click();
    // Nobody has this badge.
    await expect.poll(() => refusal(page)).toMatch(/^E\d{3}/);
    await page.getByLabel('Badge').fill('');
    await page.getByRole('button', { name: 'Begin' }).click();
    await workUntil(page, 'read');
    // One reading, to have one that can be put right.
    await page.keyboard.press('Space');
    await page.locator('table.readings, .question').first().waitFor();
    await expect.poll(() => bay.desk.ledger.events(1).some((e) => e.event.type === 'captured')).toBe(true);
    const job = page.locator('.job-head', { hasText: SCRIPT });
    await job.waitFor();
    await inert();

    const texts = new Map<string, number>();
    const dialog = page.getByRole('dialog');
    const putRight = async (kind: string) => {
      await page.getByRole('button', { name: 'More' }).click();
      await page.getByLabel('Put right or write down').selectOption(kind);
      texts.set(kind, await fillAll(dialog));
      await page.getByRole('button', { name: 'Write it down' }).click();
      await Promise.race([dialog.waitFor({ state: 'detached' }), dialog.locator('.refusal').waitFor()]);
      const isRefused = (await dialog.count()) > 0;
      if (isRefused) {
        expect(await dialog.locator('.refusal').innerText()).toMatch(/^E\d{3}/);
        await page.getByRole('button', { name: 'Back to the job' }).click();
      }
      await inert();
    };
    await page.getByRole('button', { name: 'More' }).click();
    const kinds = await page
      .getByLabel('Put right or write down')
      .locator('option:not([value=""])')
      .evaluateAll((all) => all.map((o) => (o as unknown as { value: string }).value));
    await page.getByRole('button', { name: 'Back to the job' }).click();
    // What ends the job comes last.
    for (const kind of [...kinds.filter((k) => k !== 'given up'), 'given up']) await putRight(kind);
    await page.locator('h1.closed').waitFor();
    await putRight('job reopened');
    // It is in hand again at once.
    await page.locator('.question[data-ready="true"]').waitFor();
    await putRight('given up');
    expect(Object.fromEntries(texts)).toEqual({
      'set aside': 1,
      restored: 1,
      'tip corrected': 0,
      'turn corrected': 1,
      prepared: 1,
      'claim stated': 1,
      'handed over': 1,
      'fixture accounted for': 2,
      'given up': 1,
      'job reopened': 2,
    });
    const written = JSON.stringify(bay.desk.ledger.events(1).map((e) => e.event));
    for (const type of ['claim stated', 'handed over', 'given up', 'job reopened'])
      expect(written).toContain(`"type":"${type}"`);
    // The end of a job comes a moment after its log.
    await page.locator('.end input').first().waitFor();
    expect(await fillAll(page.locator('.end'))).toBe(1);
    await page.getByRole('button', { name: 'Go on' }).click();
    await page.locator('.job-head', { hasText: 'job 2' }).waitFor();
    await page.getByRole('button', { name: 'More' }).click();
    await page.getByRole('button', { name: 'Lay it aside' }).click();
    await page.locator('.open-jobs', { hasText: SCRIPT }).waitFor();
    await inert();
    await page.close();
  },
);

const TAPED = {
  family: 'mid-mount hung',
  blades: 2,
  bladeLengthMm: 460,
  spacingMm: 440,
  wheelbaseMm: 1200,
  frontTrackMm: 800,
  rearTrackMm: 820,
  rotation: 'clockwise',
  cutHeightMm: 65,
} as const;

test(
  `in a machine: typed, taken in from a file with script in every name, shown, listed, measured${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const { page, inert } = await open('#/machines/new');
    await page.getByRole('radio', { name: '2', exact: true }).check();
    expect(await fillAll(page.locator('form'))).toBe(8);
    await page.getByRole('button', { name: 'Save this machine' }).click();
    for (const field of ['model', 'bladeLengthMm', 'spacingMm', 'cutHeightMm'])
      expect(await page.locator(`#${field}-about .fault`).innerText()).toMatch(/^E\d{3}/);
    await inert();
    // The model may be called anything that is short enough.
    await page.locator('#model').fill(SHORT);
    await page.getByText('Hung between the axles').click();
    await page.getByRole('radio', { name: 'clockwise', exact: true }).check();
    for (const [field, value] of Object.entries(TAPED))
      if (field.endsWith('Mm')) await page.locator(`#${field}`).fill(`${value}`);
    await page.locator('#staggerMm').fill('150');
    await page.locator('.fault').first().waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Save this machine' }).click();
    await page.getByRole('heading', { name: SHORT }).waitFor();
    await inert();

    await page.goto(`${bay.address}#/machines`);
    await page.locator('.entry', { hasText: SHORT }).waitFor();
    const file = (content: string) => ({
      name: `${SCRIPT}.json`,
      mimeType: 'application/json',
      buffer: Buffer.from(content),
    });
    for (const broken of [SCRIPT, JSON.stringify({ format: SCRIPT, [SCRIPT]: SCRIPT })]) {
      await page.locator('input[type=file]').setInputFiles(file(broken));
      await expect.poll(() => refusal(page)).toMatch(/^E30\d.*onerror/);
      await inert();
    }
    const named = ['model', 'name', 'source', 'spindle', 'hanger', 'text'];
    const profile = JSON.stringify(machineFromTape({ ...TAPED, staggerMm: 150, model: 'x' }), (key, value) =>
      named.includes(key) && typeof value === 'string' ? `${value.slice(0, 28)}${SHORT}` : (value as unknown),
    );
    await page.locator('input[type=file]').setInputFiles(file(profile));
    await page.getByRole('heading', { name: `x${SHORT}` }).waitFor();
    await page.locator('main', { hasText: 'level' + SHORT }).waitFor();
    await inert();

    await page.goto(`${bay.address}#/job`);
    await page.getByRole('radio', { name: `x${SHORT}` }).check();
    await page.getByRole('button', { name: 'Begin' }).click();
    await workUntil(page, 'read');
    await page.locator('svg.deck-from-above').waitFor();
    await inert();
    await page.getByRole('button', { name: 'More' }).click();
    await page.getByRole('button', { name: 'Lay it aside' }).click();
    await page.close();
  },
);

test(`in what is looked for and in addresses${HOW_TO_ENABLE}`, { timeout: 120_000 }, async () => {
  const { page, inert } = await open('#/records');
  expect(await fillAll(page.locator('main'))).toBe(1);
  await page.locator('.entry', { hasText: SCRIPT }).first().waitFor();
  await inert();
  const odd = encodeURIComponent(SCRIPT);
  for (const [hash, shown] of [
    ['records/1', 'onerror'],
    [`records/${odd}`, 'E256'],
    [`records/history/technician/${odd}`, 'onerror'],
    [`records/history/${odd}/${odd}`, 'E509'],
    [`machines/of/${odd}`, 'E305'],
    ['machines/of/%E0%A4%A', 'E305'],
    [odd, 'New job'],
  ] as const) {
    await page.goto(`${bay.address}#/${hash}`);
    await page.locator('main', { hasText: shown }).waitFor();
    await inert();
  }
  await page.close();
});

test(`in a check, a study and a calibration${HOW_TO_ENABLE}`, { timeout: 120_000 }, async () => {
  const { page, inert } = await open('#/fixture');
  await page.getByRole('button', { name: 'Study of clampings' }).click();
  expect(await fillAll(page.locator('main'))).toBe(4);
  await page.getByRole('button', { name: 'Begin the study' }).click();
  await expect.poll(() => refusal(page)).toMatch(/^E509/);
  await inert();
  for (const field of ['Tips to clamp on', 'Technicians, with commas'])
    await page.getByLabel(field).fill(`${SHORT}, b${SHORT}`);
  await page.getByLabel('How often').fill('2');
  await page.getByLabel('Technician', { exact: true }).fill(SHORT);
  await page.getByRole('button', { name: 'Begin the study' }).click();
  await page.locator('.session', { hasText: 'onerror' }).waitFor();
  await inert();
  await page.getByRole('button', { name: /Lay it aside/ }).click();
  await page.getByRole('button', { name: 'Daily check now' }).waitFor();
  await page.close();
});

test(`script that got in all the same would be kept from running, and this file would see it${HOW_TO_ENABLE}`, async () => {
  const { page, inert } = await open('');
  await page.getByRole('heading', { name: 'New job' }).waitFor();
  await inert();
  await page.evaluate(`try { document.body.innerHTML = '<img src=x onerror=alert(1)>' } catch {}`);
  await expect(inert()).rejects.toThrow('require-trusted-types-for');
  await page.close();
});
