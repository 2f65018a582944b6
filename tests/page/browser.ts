/** A bay with its page in a real browser: desk, server and simulated shop in this process, Debian's Chromium beside it. */
import { existsSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import { simulatedDesk, type SimulatedDesk } from '../../host/cli/simulated-desk';
import { openDesk, type Desk } from '../../host/desk/desk';
import { openLedger } from '../../host/ledger/ledger';
import type { Pairing } from '../../host/server/pairing';
import { servePage, type PageServer } from '../../host/server/server';

export const CHROMIUM = '/usr/bin/chromium';
export const hasChromium = existsSync(CHROMIUM);
/** The name of a test that is skipped says how to have it run. */
export const HOW_TO_ENABLE = hasChromium ? '' : ' (needs Chromium: run .ci/debian.sh as root on Debian)';

/** A tablet upright, a laptop across, and of a small telephone what is left between the bars of its browser (from memory). */
export const SIZES = {
  tablet: { width: 768, height: 1024 },
  laptop: { width: 1280, height: 800 },
  phone: { width: 360, height: 640 },
} as const;

export interface BayWithPage {
  readonly desk: Desk;
  readonly bench: SimulatedDesk;
  readonly server: PageServer;
  readonly address: string;
  readonly log: string;
  close(): Promise<void>;
}

/** From an empty store. Simulated time runs 20 times as fast as the clock, unless it is said otherwise. */
export async function openBay(
  options: {
    readonly pace?: number;
    readonly seed?: number;
    readonly port?: number;
    readonly log?: string;
    /** Other computers of the network may come, once paired. */
    readonly pairing?: Pairing;
    /** Takes the simulated fixture for a real one, for what a simulated one may not do. */
    readonly asIfReal?: true;
  } = {},
): Promise<BayWithPage> {
  const { pace = 20, seed = 0, port = 0, pairing, asIfReal } = options;
  const log = options.log ?? join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
  const bench = simulatedDesk({ log, pace, seed });
  const ledger = openLedger(log, { writer: 'bay 1', now: () => new Date() });
  const desk = openDesk({ name: 'bay 1', ledger, bench: { ...bench, simulated: asIfReal !== true } });
  const server = await servePage({ desk, port, ...(pairing === undefined ? {} : { lan: { pairing } }) });
  return {
    desk,
    bench,
    server,
    address: server.addresses[0] ?? '',
    log,
    close: async () => {
      await server.close();
      await desk.close();
    },
  };
}

/** The browser asks nobody but the page: what it would ask its maker is off. */
export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: CHROMIUM,
    args: [
      '--no-sandbox',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-default-apps',
      '--disable-sync',
      '--no-first-run',
      '--disable-features=Translate,OptimizationHints,MediaRouter',
    ],
  });
}

/** What the page has said in the console as an error or thrown: a test ends with none. */
export function faultsOf(page: Page): string[] {
  const faults: string[] = [];
  page.on('pageerror', (error) => faults.push(String(error)));
  page.on('console', (message) => message.type() === 'error' && faults.push(message.text()));
  return faults;
}
