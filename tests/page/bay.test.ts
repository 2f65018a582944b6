/** What happens around a job: a second screen, a reload, a pulled cable, a server that dies. */
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openLedgerForReading } from '../../host/ledger/ledger';
import { hasChromium, HOW_TO_ENABLE, openBay, openBrowser, SIZES, type BayWithPage } from './browser';
import { begin, workThrough } from './person';

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

/** Thrown to leave a job where it is. */
class Here extends Error {}

/** Works on until a blade is to be turned with the fixture on it. */
async function workUntilOnBlade(page: Page): Promise<void> {
  await workThrough(page, 'touch', (step) =>
    step.task.startsWith('Turn the blade') ? Promise.reject(new Here()) : Promise.resolve(),
  ).catch((error: unknown) => {
    if (!(error instanceof Here)) throw error;
  });
}

async function started(bay: BayWithPage, serial = 'INVENTED-1'): Promise<Page> {
  const page = await browser.newPage({ viewport: SIZES.laptop, hasTouch: true });
  await page.goto(bay.address);
  await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial });
  return page;
}

const test = it.skipIf(!hasChromium);

test(
  `two screens stay in step, the later answer of two is refused, a reload loses nothing${HOW_TO_ENABLE}`,
  { timeout: 120_000 },
  async () => {
    const bay = await openBay({ pace: 8 });
    const one = await started(bay);
    await one.locator('.question[data-ready="true"]').waitFor();
    const two = await browser.newPage({ viewport: SIZES.phone });
    await two.goto(bay.address);
    const question = two.locator('.question[data-ready="true"]');
    await question.waitFor();
    const n = Number(await question.getAttribute('data-n'));
    expect(await one.locator('.question').getAttribute('data-n')).toBe(`${n}`);
    // Both answer the same question: one event, one refusal.
    const answers = await Promise.all(
      [one, two].map((page) =>
        page.evaluate(
          (number) =>
            fetch('/api/job/answer', {
              method: 'POST',
              headers: { 'Content-Type': 'application/json' },
              body: JSON.stringify({ question: number, said: { way: 0 } }),
            }).then((reply) => reply.json() as Promise<{ error?: { number: number } }>),
          n,
        ),
      ),
    );
    expect(answers.map((a) => a.error?.number).sort()).toEqual([510, undefined]);
    for (const page of [one, two]) await page.locator(`.question[data-n="${n + 1}"]`).waitFor();
    const events = bay.desk.ledger.events(1).map((e) => e.event.type);
    expect(events.filter((t) => t === 'cautions confirmed')).toHaveLength(1);
    const shown = await one.locator('h1').innerText();
    await one.reload();
    await expect.poll(() => one.locator('h1.task').innerText()).toBe(shown);
    await Promise.all([one.close(), two.close()]);
    await bay.close();
  },
);

test(
  `a pulled cable shows at once with the warning not to start, and the job goes on by itself${HOW_TO_ENABLE}`,
  { timeout: 120_000 },
  async () => {
    const bay = await openBay({ pace: 8 });
    const page = await started(bay);
    await workUntilOnBlade(page);
    bay.bench.fixture()?.unplug();
    await page.locator('.banner.danger').waitFor();
    await page.getByText('is not to be heard').waitFor();
    await page.getByText('waiting for fixture').waitFor();
    expect(await page.getByRole('button', { name: 'capture' }).count()).toBe(0);
    bay.bench.fixture()?.plugIn();
    await page.locator('.banner.danger').waitFor({ state: 'detached' });
    await workThrough(page, 'touch');
    expect(await page.locator('h1.closed').innerText()).toMatch(/^pass$/i);
    const captures = bay.desk.ledger
      .events(1)
      .flatMap((e) => (e.event.type === 'captured' ? [e.event.capture.capture] : []));
    expect(new Set(captures).size).toBe(captures.length);
    await page.close();
    await bay.close();
  },
);

test(
  `a server that is killed and started again goes on with the open job; the page says so and comes back${HOW_TO_ENABLE}`,
  { timeout: 180_000 },
  async () => {
    const log = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
    const port = freePort();
    const start = () =>
      spawn(
        process.execPath,
        ['build/host/swathplane.js', 'serve', '--page-port', `${port}`, '--pace', '8', '--log', log],
        { stdio: 'ignore', cwd: join(import.meta.dirname, '../..') },
      );
    let server = start();
    const page = await browser.newPage({ viewport: SIZES.laptop, hasTouch: true });
    await expect
      .poll(() =>
        page.goto(`http://127.0.0.1:${port}/`).then(
          () => 'there',
          () => 'not yet',
        ),
      )
      .toBe('there');
    await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: 'INVENTED-1' });
    await workUntilOnBlade(page);
    server.kill('SIGKILL');
    await page.getByText('The computer of the bay is not to be heard').waitFor();
    server = start();
    await page.getByText('The computer of the bay is not to be heard').waitFor({ state: 'detached' });
    await page.locator('.banner.danger').waitFor();
    await page.getByRole('button', { name: /Go on with job 1/ }).tap();
    await workThrough(page, 'touch');
    expect(await page.locator('h1.closed').innerText()).toMatch(/^pass$/i);
    await page.close();
    server.kill('SIGTERM');
    await new Promise((resolve) => server.once('exit', resolve));
    const ledger = openLedgerForReading(log);
    ledger.verify();
    const captures = ledger
      .events(1)
      .flatMap((e) => (e.event.type === 'captured' ? [e.event.capture.capture] : []));
    expect(new Set(captures).size).toBe(captures.length);
    ledger.close();
  },
);

/** One that nobody uses now. */
function freePort(): number {
  const script =
    'const s=require("net").createServer().listen(0,()=>{console.log(s.address().port);s.close()})';
  return Number(execFileSync(process.execPath, ['-e', script], { encoding: 'utf8' }));
}
