/**
 * Who may ask for what: the name that the page was asked for under, the page that asks, how often, and whether the
 * screen is paired. Every refusal is a numbered error.
 */
import { getConnInfo } from '@hono/node-server/conninfo';
import type { Context, Hono } from 'hono';
import { getCookie } from 'hono/cookie';
import { secureHeaders } from 'hono/secure-headers';
import { numberedError } from '../errors/errors';
import type { Pairing } from './pairing';
import { createRate } from './rate';

export interface Guard {
  /** Names with port that this server answers to. */
  readonly hosts: () => readonly string[];
  /** Undefined: this computer alone, nothing to pair. */
  readonly pairing: Pairing | undefined;
}

export const COOKIE = 'swathplane-screen';
/** What a screen may have before it is paired. */
const OPEN_TO_ALL = ['/', '/page.js', '/page.css', '/icon.svg', '/api/pair'];

export function guard(app: Hono, { hosts, pairing }: Guard): void {
  const rate = createRate({ most: 200, perMs: 10_000 }, () => Date.now());
  app.use(
    secureHeaders({
      contentSecurityPolicy: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        imgSrc: ["'self'"],
        connectSrc: ["'self'"],
        formAction: ["'none'"],
        frameAncestors: ["'none'"],
        baseUri: ["'none'"],
        requireTrustedTypesFor: ["'script'"],
        trustedTypes: ["'none'"],
      },
      crossOriginOpenerPolicy: 'same-origin',
      crossOriginResourcePolicy: 'same-origin',
      referrerPolicy: 'no-referrer',
      xFrameOptions: 'DENY',
      // The page goes over plain HTTP inside the shop: there is nothing to be strict about.
      strictTransportSecurity: false,
      permissionsPolicy: { camera: [], microphone: [], geolocation: [], usb: [], serial: [] },
    }),
  );
  app.use(async (c, next) => {
    c.header('Cache-Control', 'no-store');
    const host = c.req.header('host') ?? '';
    if (!hosts().includes(host)) throw numberedError('other host', host);
    checkOrigin(c, host);
    if (!rate.admits(peerOf(c))) throw numberedError('too many requests');
    await next();
  });
  app.use(async (c, next) => {
    if (pairing !== undefined && !isThisComputer(peerOf(c)) && !OPEN_TO_ALL.includes(c.req.path)) {
      const token = getCookie(c, COOKIE);
      if (token === undefined || !pairing.knows(token)) throw numberedError('not paired');
    }
    await next();
  });
}

/** The Fetch standard has a browser name the page that asks; whatever changes something has to come from our own. */
function checkOrigin(c: Context, host: string): void {
  const origin = c.req.header('origin');
  const site = c.req.header('sec-fetch-site');
  const changes = c.req.method !== 'GET' && c.req.method !== 'HEAD';
  if (origin !== undefined && origin !== `http://${host}`) throw numberedError('other origin', origin);
  if (site === 'cross-site' || site === 'same-site') {
    // A link from elsewhere may open the page itself, and nothing else.
    if (changes || c.req.path !== '/') throw numberedError('other origin', site);
  }
  if (changes && c.req.header('content-type')?.split(';')[0]?.trim() !== 'application/json')
    throw numberedError('request not understood', 'what changes something is sent as JSON');
}

export function peerOf(c: Context): string {
  return getConnInfo(c).remote.address ?? '';
}

function isThisComputer(address: string): boolean {
  return address === '127.0.0.1' || address === '::1' || address === '::ffff:127.0.0.1';
}
