/** `npm run figures:page`: how large the page's script is, how soon it paints, and how old a height is when it is seen. */
import { readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import type { Browser, Page } from 'playwright-core';
import { openBay, openBrowser, SIZES, type BayWithPage } from './browser';
import { begin, workThrough } from './person';

export interface Figures {
  readonly scriptKb: number;
  readonly firstPaintMs: number;
  /** From the fixture's sample to the frame after the one that shows it: middle, 99th percentile, samples. */
  readonly heightMs: { readonly middle: number; readonly p99: number; readonly samples: number };
}

/** Heights that are timed, 20 a second. */
const SAMPLES = 600;
class Here extends Error {}

export async function figures(browser: Browser, samples = SAMPLES): Promise<Figures> {
  const bay = await openBay({ pace: 1 });
  try {
    const page = await browser.newPage({ viewport: SIZES.tablet, hasTouch: true });
    const firstPaintMs = await firstPaint(page, bay.address);
    const heightMs = await heightAges(page, bay, samples);
    await page.close();
    const script = readFileSync('build/page/page.js');
    return { scriptKb: gzipSync(script, { level: 9 }).length / 1024, firstPaintMs, heightMs };
  } finally {
    await bay.close();
  }
}

/** Paint Timing (W3C): first contentful paint of the second of two visits; nothing is kept between them. */
async function firstPaint(page: Page, address: string): Promise<number> {
  for (let visit = 0; visit < 2; visit += 1) {
    await page.goto(address);
    await page.getByRole('heading', { name: 'New job' }).waitFor();
  }
  return page.evaluate(
    () =>
      new Promise<number>((resolve) => {
        const [entry] = performance.getEntriesByName('first-contentful-paint');
        resolve(entry?.startTime ?? NaN);
      }),
  );
}

/** Works a job up to its first reading and times the heights there. Both clocks are this computer's. */
async function heightAges(page: Page, bay: BayWithPage, samples: number): Promise<Figures['heightMs']> {
  const sent = new Map<number, { readonly wallMs: number; readonly fixtureMs: number }>();
  bay.desk.watch({
    changed: () => {},
    live: ({ uptimeMs }) =>
      sent.set(uptimeMs, { wallMs: Date.now(), fixtureMs: (bay.bench.fixture()?.nowUs ?? NaN) / 1000 }),
  });
  await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: 'INVENTED-1' });
  await workThrough(page, 'touch', (step) =>
    step.asks === 'read' ? Promise.reject(new Here()) : Promise.resolve(),
  ).catch((error: unknown) => {
    if (!(error instanceof Here)) throw error;
  });
  await page.locator('.live').waitFor();
  const seen = await page.evaluate<[number, number][]>(WATCH_HEIGHTS.replace('SAMPLES', String(samples)));
  // What the fixture's clock is behind the simulation's: it begins when power comes on.
  const startMs = Math.min(...[...sent].map(([uptimeMs, { fixtureMs }]) => fixtureMs - uptimeMs));
  const ages = seen
    .flatMap(([uptimeMs, wallMs]) => {
      const at = sent.get(uptimeMs);
      return at === undefined ? [] : [wallMs - at.wallMs + (at.fixtureMs - uptimeMs - startMs)];
    })
    .sort((a, b) => a - b);
  const share = (p: number) => ages[Math.min(ages.length - 1, Math.floor(p * ages.length))] ?? NaN;
  return { middle: share(0.5), p99: share(0.99), samples: ages.length };
}

/** In the page: the fixture's clock of each height with the wall clock of the frame after the one that shows it. */
const WATCH_HEIGHTS = `new Promise((resolve) => {
  const seen = [];
  const live = document.querySelector('.live');
  const observer = new MutationObserver(() => {
    const uptime = Number(live.dataset.uptimeMs);
    requestAnimationFrame(() => requestAnimationFrame((at) => {
      seen.push([uptime, performance.timeOrigin + at]);
      if (seen.length >= SAMPLES) { observer.disconnect(); resolve(seen); }
    }));
  });
  observer.observe(live, { attributes: true, attributeFilter: ['data-uptime-ms'] });
})`;

export async function figureLines(): Promise<string[]> {
  const browser = await openBrowser();
  try {
    const { scriptKb, firstPaintMs, heightMs } = await figures(browser);
    return [
      `script of the page           ${scriptKb.toFixed(1)} KB gzip -9            to be reached: 80 KB`,
      `first contentful paint       ${firstPaintMs.toFixed(0)} ms                   to be reached: 500 ms`,
      `fixture sample to pixels     ${heightMs.middle.toFixed(0)} ms in the middle, ${heightMs.p99.toFixed(0)} ms p99 of ${heightMs.samples} at 20 Hz   to be reached: 100 ms p99`,
    ];
  } finally {
    await browser.close();
  }
}
