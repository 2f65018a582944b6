/** The page's server: static files, the live stream, and what the screens send. One bay, its desk, its screens. */
import { serve } from '@hono/node-server';
import { Hono } from 'hono';
import type { AddressInfo } from 'node:net';
import { networkInterfaces } from 'node:os';
import type { Desk } from '../desk/desk';
import { numberedError } from '../errors/errors';
import { refusalOf, statusOf } from './answers';
import { guard, peerOf, type Guard } from './guard';
import type { Pairing } from './pairing';
import { pageFiles } from './page-files';
import { jobRoutes, pairRoute } from './job-routes';
import { liveStream } from './live-stream';
import { sideRoutes } from './side-routes';

export interface ServerOptions {
  readonly desk: Desk;
  /** 0: any that is free. */
  readonly port: number;
  /** Undefined: this computer alone. Otherwise other computers of the network, each after it was paired. */
  readonly lan?: { readonly pairing: Pairing };
}

export interface PageServer {
  readonly port: number;
  /** Addresses under which the page is found, this computer's own first. */
  readonly addresses: readonly string[];
  close(): Promise<void>;
}

/** Starts answering. Rejects with 512 when the port is taken. */
export async function servePage({ desk, port, lan }: ServerOptions): Promise<PageServer> {
  const app = new Hono();
  const names = { hosts: [] as readonly string[] };
  const gate: Guard = {
    hosts: () => names.hosts,
    pairing: lan?.pairing,
  };
  const streams = liveStream(desk);
  app.onError((error, c) => c.json(refusalOf(error), statusOf(error)));
  app.notFound((c) => c.json(refusalOf(numberedError('no such page')), 404));
  guard(app, gate);
  pageFiles(app);
  app.get('/api/stream', (c) => streams.open(c));
  // A browser is not told why its stream was refused: it asks here.
  app.get('/api/welcome', (c) => {
    streams.admit(peerOf(c));
    return c.json({});
  });
  jobRoutes(app, desk);
  sideRoutes(app, desk);
  if (lan !== undefined) pairRoute(app, lan.pairing);

  const server = serve({ fetch: app.fetch, port, hostname: lan === undefined ? '127.0.0.1' : '0.0.0.0' });
  await new Promise<void>((resolve, reject) => {
    server.once('listening', () => resolve());
    server.once('error', (cause: NodeJS.ErrnoException) =>
      reject(cause.code === 'EADDRINUSE' ? numberedError('address in use', `port ${port}`, cause) : cause),
    );
  });
  const bound = (server.address() as AddressInfo).port;
  const reached = ['127.0.0.1', 'localhost', ...(lan === undefined ? [] : ownAddresses())];
  names.hosts = reached.map((host) => `${host}:${bound}`);
  return {
    port: bound,
    addresses: reached.filter((host) => host !== 'localhost').map((host) => `http://${host}:${bound}/`),
    close: async () => {
      streams.close();
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      if ('closeAllConnections' in server) server.closeAllConnections();
      await closed;
    },
  };
}

/** Of this computer in its networks, IPv4. */
function ownAddresses(): string[] {
  return Object.values(networkInterfaces()).flatMap((each) =>
    (each ?? []).filter((a) => a.family === 'IPv4' && !a.internal).map((a) => a.address),
  );
}
