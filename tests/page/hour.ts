/** An hour of live heights at 20 Hz into one screen: job after job is worked, and the memory of the page is weighed after each. */
import type { CDPSession, Page } from 'playwright-core';
import { openBay, openBrowser, SIZES } from './browser';
import { begin, workThrough } from './person';

/** 20 a second for an hour. */
const HEIGHTS = 72_000;
/** Simulated seconds in a second, at the most. */
const PACE = 40;
/** Heights before a reading is captured. */
const LOOK_AT = 1500;

export async function hourText(heights = HEIGHTS): Promise<string[]> {
  const browser = await openBrowser();
  const bay = await openBay({ pace: PACE });
  const page = await browser.newPage({ viewport: SIZES.tablet, hasTouch: true });
  await page.addInitScript(COUNT_HEIGHTS);
  await page.goto(bay.address);
  const protocol = await page.context().newCDPSession(page);
  const weighed: (Weight & { readonly heights: number })[] = [];
  const started = performance.now();
  let jobs = 0;
  while ((await countOf(page)) < heights) {
    jobs += 1;
    await begin(page, 'touch', { use: 'Inspection', model: 'Pimwick 76', serial: `INVENTED-${jobs}` });
    await workThrough(page, 'touch', async ({ asks }) => {
      if (asks !== 'read') return;
      const from = await countOf(page);
      await look(page, from + LOOK_AT);
    });
    await page.getByRole('button', { name: 'New job' }).tap();
    await page.getByRole('heading', { name: 'New job' }).waitFor();
    weighed.push({ heights: await countOf(page), ...(await weigh(protocol)) });
  }
  const minutes = (performance.now() - started) / 60_000;
  const count = await countOf(page);
  await browser.close();
  await bay.close();
  const line = ({ heights: seen, own, code, browser: rest, nodes }: (typeof weighed)[number]) =>
    `${String(seen).padStart(9)} ${kb(own.bytes).padStart(12)} ${String(own.count).padStart(9)} ${String(nodes).padStart(7)} ${kb(code).padStart(11)} ${kb(rest).padStart(13)}`;
  return [
    `${count} heights in ${jobs} jobs, an hour at 20 Hz is ${HEIGHTS}; ${minutes.toFixed(1)} min here, time factor ${(count / 20 / 60 / minutes).toFixed(1)}`,
    'Weighed after each job, before the next, after a collection. Own: what the script holds (objects, functions, arrays, text).',
    'Compiled: its machine code, which grows while more of it is found worth compiling. Browser: styles, fonts, and the lists of',
    'requests and timings that the browser keeps of a page that is being inspected.',
    '  heights    own, kB    things   nodes  compiled, kB  browser, kB',
    ...weighed.map(line),
  ];
}

const kb = (bytes: number) => (bytes / 1000).toFixed(0);

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

interface Weight {
  /** What the page's script holds. */
  readonly own: { readonly bytes: number; readonly count: number };
  readonly code: number;
  readonly browser: number;
  /** Of the document. */
  readonly nodes: number;
}

/** Kinds of a heap snapshot that only the script makes. */
const OWN = new Set(['object', 'closure', 'array', 'string', 'concatenated string', 'number', 'regexp']);
const CODE = new Set(['code', 'object shape']);

interface Snapshot {
  readonly snapshot: { readonly meta: { readonly node_fields: string[]; readonly node_types: unknown[] } };
  /** As many numbers a node as there are fields. */
  readonly nodes: number[];
}

async function weigh(protocol: CDPSession): Promise<Weight> {
  await protocol.send('HeapProfiler.collectGarbage');
  const { nodes } = await protocol.send('Memory.getDOMCounters');
  const { snapshot, nodes: things } = await snapshotOf(protocol);
  const { node_fields: fields, node_types: types } = snapshot.meta;
  const kinds = types[fields.indexOf('type')] as string[];
  const weight = { own: { bytes: 0, count: 0 }, code: 0, browser: 0, nodes };
  for (let at = 0; at < things.length; at += fields.length) {
    const kind = kinds[things[at + fields.indexOf('type')] ?? 0] ?? '';
    const bytes = things[at + fields.indexOf('self_size')] ?? 0;
    if (OWN.has(kind)) {
      weight.own.bytes += bytes;
      weight.own.count += 1;
    } else if (CODE.has(kind)) weight.code += bytes;
    else weight.browser += bytes;
  }
  return weight;
}

async function snapshotOf(protocol: CDPSession): Promise<Snapshot> {
  const pieces: string[] = [];
  const take = ({ chunk }: { chunk: string }) => pieces.push(chunk);
  protocol.on('HeapProfiler.addHeapSnapshotChunk', take);
  await protocol.send('HeapProfiler.takeHeapSnapshot', { reportProgress: false });
  protocol.off('HeapProfiler.addHeapSnapshotChunk', take);
  return JSON.parse(pieces.join('')) as Snapshot;
}
