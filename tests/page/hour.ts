/** An hour of live heights at 20 Hz into one screen: job after job is worked, and the memory of the page is weighed. */
import type { CDPSession, Page } from 'playwright-core';
import { openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough } from './person';

/** 20 a second for an hour. */
const HEIGHTS = 72_000;
/** Simulated seconds in a second, at the most. */
const PACE = 40;
/** Heights between two weighings, and before a reading is captured. */
const WEIGH_EVERY = 6000;
const LOOK_AT = 1500;

export async function hourText(heights = HEIGHTS): Promise<string[]> {
  const browser = await openBrowser();
  const bay = await openBay({ pace: PACE });
  const page = await browser.newPage({ viewport: SIZES.tablet, hasTouch: true });
  await page.addInitScript(COUNT_HEIGHTS);
  await page.goto(bay.address);
  const protocol = await page.context().newCDPSession(page);
  const weighed: { readonly heights: number; readonly heapMb: number; readonly nodes: number }[] = [];
  const started = performance.now();
  let jobs = 0;
  while ((await countOf(page)) < heights) {
    jobs += 1;
    await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: `INVENTED-${jobs}` });
    await workThrough(page, 'touch', async ({ asks }) => {
      if (asks !== 'read') return;
      const from = await countOf(page);
      await look(page, from + LOOK_AT);
      if ((await countOf(page)) >= (weighed.length + 1) * WEIGH_EVERY)
        weighed.push(await weigh(page, protocol));
    });
    await page.getByRole('button', { name: 'New job' }).tap();
  }
  const minutes = (performance.now() - started) / 60_000;
  const count = await countOf(page);
  await browser.close();
  await bay.close();
  const half = weighed.slice(0, Math.ceil(weighed.length / 2));
  const rest = weighed.slice(half.length);
  const most = (of: typeof weighed, key: 'heapMb' | 'nodes') => Math.max(...of.map((w) => w[key]));
  return [
    `${count} heights in ${jobs} jobs, an hour at 20 Hz is ${HEIGHTS}; ${minutes.toFixed(1)} min here, time factor ${(count / 20 / 60 / minutes).toFixed(1)}`,
    'memory of the page after a collection, at a reading:',
    ...weighed.map(
      (w) => `  ${String(w.heights).padStart(6)} heights   ${w.heapMb.toFixed(2)} MB   ${w.nodes} nodes`,
    ),
    `most in the first half ${most(half, 'heapMb').toFixed(2)} MB, ${most(half, 'nodes')} nodes; in the second ${most(rest, 'heapMb').toFixed(2)} MB, ${most(rest, 'nodes')} nodes`,
  ];
}

const COUNT_HEIGHTS = `{
  window.heights = 0;
  const Plain = window.EventSource;
  window.EventSource = class extends Plain {
    constructor(address) {
      super(address);
      this.addEventListener('live', () => (window.heights += 1));
    }
  };
}`;

/** Until so many heights have come, or none comes any more: the laser turns itself off when nobody captures for long. */
async function look(page: Page, heights: number): Promise<void> {
  let before = -1;
  for (;;) {
    const now = await countOf(page);
    if (now >= heights || now === before) return;
    before = now;
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
}

function countOf(page: Page): Promise<number> {
  return page.evaluate<number>('window.heights');
}

async function weigh(page: Page, protocol: CDPSession) {
  await protocol.send('HeapProfiler.collectGarbage');
  const { usedSize } = await protocol.send('Runtime.getHeapUsage');
  const { nodes } = await protocol.send('Memory.getDOMCounters');
  return { heights: await countOf(page), heapMb: usedSize / 2 ** 20, nodes };
}
