/** The page for the screens of one bay: its desk, and the server in front of it. */
import { randomBytes } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { dirname } from 'node:path';
import type { TargetPlate } from '../bay/target-plate';
import { openDesk } from '../desk/desk';
import type { Bench } from '../desk/bench';
import type { ReadingCosts } from '../ledger/events';
import { openLedger } from '../ledger/ledger';
import { findFixture, openLink, openSerialPort } from '../link/index';
import { createPairing } from '../server/pairing';
import { servePage } from '../server/server';
import { checklistIn } from './checklist';
import { copying } from './copying';
import { installedSolver } from './installed-solver';
import { makeFolder, print, printJson, writeOut } from './output';

export interface ServeOptions {
  /** Ports that fixtures are on. Undefined: a simulated shop. `found`: the only one that is plugged in. */
  readonly port?: readonly string[] | 'found';
  /** Of the page; 0: any that is free. */
  readonly pagePort: number;
  readonly lan?: true;
  /** A file. */
  readonly checklist?: string;
  readonly plate?: TargetPlate;
  readonly seconds?: ReadingCosts;
  readonly bay: string;
  readonly log: string;
  /** Of the simulated shop: simulated seconds in a second. */
  readonly pace: number;
  /** With the copies of all bays; left out: the one of the environment, or none. */
  readonly database?: string;
  readonly json?: boolean;
}

/** Serves until it is told to end. Errors: 512 and those of the log. */
export async function serve(options: ServeOptions): Promise<number> {
  const { log, bay, lan, plate, seconds } = options;
  const checklist = checklistIn(options.checklist);
  makeFolder(dirname(log));
  const ledger = openLedger(log, { writer: bay, now: () => new Date() });
  const bench = await benchOf(options);
  const desk = openDesk({
    name: bay,
    ledger,
    bench,
    solver: installedSolver(),
    shop: {
      ...(checklist === undefined ? {} : { checklist }),
      ...(plate === undefined ? {} : { plate }),
      ...(seconds === undefined ? {} : { readingCosts: seconds }),
    },
  });
  // A simulated shop is copied only where that is asked for.
  const copies =
    bench.simulated && options.database === undefined
      ? undefined
      : await copying(options, (text) => print(text));
  const secret = lan === undefined ? undefined : secretBeside(log);
  const pairing =
    secret === undefined
      ? undefined
      : createPairing({
          secret,
          nowMs: () => Date.now(),
          show: (code) => print(`Pairing code for another screen: ${code.slice(0, 4)} ${code.slice(4)}`),
        });
  try {
    const server = await servePage({
      desk,
      port: options.pagePort,
      ...(pairing === undefined ? {} : { lan: { pairing } }),
    });
    if (options.json === true) printJson({ addresses: server.addresses });
    else {
      print(
        ...(bench.simulated
          ? ['SIMULATED SHOP: invented machines, no real measurement. With a fixture: serve --port PORT']
          : []),
        ...server.addresses.map((address) => `The page of ${bay}: ${address}`),
        'Control-C ends it; an open job stays open and goes on the next time.',
      );
    }
    await new Promise<void>((resolve) => {
      process.once('SIGINT', resolve);
      process.once('SIGTERM', resolve);
    });
    await server.close();
    return 0;
  } finally {
    await copies?.stop();
    await desk.close();
  }
}

async function benchOf({ port, log, pace }: ServeOptions): Promise<Bench> {
  if (port === undefined) return (await import('./simulated-desk')).simulatedDesk({ log, pace });
  const linkTo = (path: () => Promise<string>): Awaited<ReturnType<Bench['takeUp']>>['openLinks'][number] => {
    return async (given) => {
      const name = await path();
      return openLink({ ...given, open: () => openSerialPort(name), name });
    };
  };
  const paths =
    port === 'found' ? [async () => (await findFixture()).path] : port.map((p) => () => Promise.resolve(p));
  return {
    simulated: false,
    takeUp: ({ state }, person) =>
      Promise.resolve({
        openLinks: state.ruler === undefined ? paths.map((path) => linkTo(path)) : [],
        hands: person,
      }),
    sit: () => {
      const [path = async () => (await findFixture()).path] = paths;
      return Promise.resolve({ openLink: linkTo(path), around: (person) => person, close: () => {} });
    },
    close: () => Promise.resolve(),
  };
}

/** What paired screens are known by. Whoever deletes the file has every screen paired anew. */
function secretBeside(log: string): Uint8Array {
  const file = `${log}-paired-screens`;
  if (!existsSync(file)) writeOut(file, randomBytes(32));
  return readFileSync(file);
}
