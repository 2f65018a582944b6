/** Screens of other computers, in a real browser: they come in by the code alone, and are in step from then on. */
import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { connect } from 'node:net';
import { networkInterfaces, tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { createPairing } from '../../host/server/pairing';
import { hasChromium, HOW_TO_ENABLE, openBay, openBrowser, SIZES } from './browser';
import { begin } from './person';

/** This computer as another one sees it: what comes from there is not from 127.0.0.1. */
const OUTSIDE = Object.values(networkInterfaces())
  .flatMap((each) => each ?? [])
  .find((a) => a.family === 'IPv4' && !a.internal)?.address;

let browser: Browser;
beforeAll(async () => {
  if (hasChromium) browser = await openBrowser();
});
afterAll(() => browser?.close());

const test = it.skipIf(!hasChromium || OUTSIDE === undefined);
const NEEDS = `${HOW_TO_ENABLE}${OUTSIDE === undefined ? ' (needs a network of any kind)' : ''}`;

async function screenAt(address: string, size: keyof typeof SIZES): Promise<Page> {
  const context = await browser.newContext({ viewport: SIZES[size], hasTouch: true });
  const page = await context.newPage();
  await page.goto(address);
  return page;
}

async function typeCode(page: Page, code: string): Promise<void> {
  await page.getByLabel('Pairing code').fill(code);
  await Promise.all([
    page.waitForResponse((reply) => reply.url().endsWith('/api/pair')),
    page.getByRole('button', { name: 'Pair', exact: true }).tap(),
  ]);
}

const isPaired = (page: Page) => page.evaluate(() => fetch('/api/welcome').then((reply) => reply.ok));

test(
  `another computer is let in by the code alone: wrong ones are refused, then it has to wait; once in, both screens are in step${NEEDS}`,
  { timeout: 120_000 },
  async () => {
    const clock = { ms: 0 };
    const codes: string[] = [];
    const pairing = createPairing({
      secret: new Uint8Array(32).fill(3),
      nowMs: () => clock.ms,
      show: (code) => codes.push(code),
    });
    const bay = await openBay({ pace: 8, pairing });
    const outside = `http://${OUTSIDE}:${bay.server.port}/`;
    expect(bay.server.addresses).toContain(outside);
    const one = await screenAt(bay.address, 'laptop');
    await begin(one, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: 'INVENTED-1' });
    const two = await screenAt(outside, 'phone');
    const dialogs: string[] = [];
    two.on('dialog', (dialog) => {
      dialogs.push(dialog.message());
      void dialog.dismiss();
    });
    await two.getByRole('heading', { name: 'Pair this screen' }).waitFor();
    expect(await two.locator('body').innerText()).not.toContain('INVENTED-1');
    expect(await isPaired(two)).toBe(false);

    const [first = ''] = codes;
    const wrong = first === '00000000' ? '11111111' : '00000000';
    const said = () => two.locator('.refusal').innerText();
    for (const tried of [wrong, `"><img src=x onerror=alert(1)>`, '', wrong, wrong]) {
      await typeCode(two, tried);
      await expect.poll(said).toContain('E502');
    }
    expect(await two.locator('img, script:not([src])').count()).toBe(0);
    expect(dialogs).toEqual([]);
    await typeCode(two, first);
    await expect.poll(said).toMatch(/^E506.*wait 30 s/);
    clock.ms += 30_001;
    // After five wrong ones another code is shown, and the old one is worth nothing.
    await typeCode(two, first);
    await expect.poll(said).toContain('E502');
    const shown = codes.at(-1) ?? '';
    await typeCode(two, `${shown.slice(0, 4)} ${shown.slice(4)}`);

    const number = async (page: Page) => {
      const question = page.locator('.question[data-ready="true"]');
      await question.waitFor();
      return Number(await question.getAttribute('data-n'));
    };
    for (const [answers, looks] of [
      [two, one],
      [one, two],
      [two, one],
    ] as const) {
      const n = await number(answers);
      expect(await number(looks)).toBe(n);
      await answers.locator('.choices button').first().tap();
      for (const page of [one, two]) await page.locator(`.question[data-n="${n + 1}"]`).waitFor();
      expect(await looks.locator('h1.task').innerText()).toBe(await answers.locator('h1.task').innerText());
    }
    // It is known from then on; another one is not.
    await two.reload();
    await two.locator('.question[data-ready="true"]').waitFor();
    const three = await screenAt(outside, 'tablet');
    await three.getByRole('heading', { name: 'Pair this screen' }).waitFor();
    for (const page of [one, two, three]) await page.context().close();
    await bay.close();
  },
);

test(`without --lan no other computer is answered at all${NEEDS}`, { timeout: 30_000 }, async () => {
  const bay = await openBay();
  const outcome = await new Promise<string>((resolve) => {
    const socket = connect(bay.server.port, OUTSIDE, () => resolve('connected'));
    socket.on('error', (error: NodeJS.ErrnoException) => resolve(error.code ?? ''));
  });
  expect(outcome).toBe('ECONNREFUSED');
  await bay.close();
});

test(
  `serve --lan shows the code; a paired screen comes back after a restart, and no more once the file of paired screens is gone${NEEDS}`,
  { timeout: 120_000 },
  async () => {
    const log = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
    let served = await serve(log, 0);
    const address = `http://${OUTSIDE}:${served.port}/`;
    expect(served.text()).toContain(`: ${address}\n`);
    const page = await screenAt(address, 'tablet');
    await page.getByRole('heading', { name: 'Pair this screen' }).waitFor();
    await typeCode(page, served.code);
    await page.getByRole('heading', { name: 'New job' }).waitFor();
    const restart = async () => {
      const { port } = served;
      await served.end();
      served = await serve(log, port);
    };
    await restart();
    await page.getByText('The computer of the bay is not to be heard').waitFor({ state: 'detached' });
    await expect.poll(() => isPaired(page)).toBe(true);
    await page.getByRole('heading', { name: 'New job' }).waitFor();
    rmSync(`${log}-paired-screens`);
    await restart();
    await page.getByRole('heading', { name: 'Pair this screen' }).waitFor();
    await page.context().close();
    await served.end();
  },
);

interface Served {
  readonly port: number;
  readonly code: string;
  readonly text: () => string;
  readonly end: () => Promise<void>;
}

/** The command as a person starts it, up to where it has said all. */
async function serve(log: string, port: number): Promise<Served> {
  const server: ChildProcess = spawn(
    process.execPath,
    ['build/host/swathplane.js', 'serve', '--lan', '--page-port', `${port}`, '--log', log],
    { stdio: ['ignore', 'pipe', 'inherit'], cwd: join(import.meta.dirname, '../..') },
  );
  let text = '';
  server.stdout?.on('data', (chunk: Buffer) => (text += chunk.toString()));
  await expect.poll(() => text).toContain('Control-C');
  const [, bound = ''] = /http:\/\/127\.0\.0\.1:(\d+)\//.exec(text) ?? [];
  const [, code = ''] = /Pairing code for another screen: (\d{4} \d{4})/.exec(text) ?? [];
  return {
    port: Number(bound),
    code,
    text: () => text,
    end: async () => {
      const ended = new Promise((resolve) => server.once('exit', resolve));
      server.kill('SIGTERM');
      await ended;
    },
  };
}
