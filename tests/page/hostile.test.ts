/**
 * What a hostile page, program or screen may try. The server is spoken to as such a one would, byte by byte where a
 * library would be too polite. Every refusal is a numbered error.
 */
import { mkdtempSync } from 'node:fs';
import { request, type IncomingMessage } from 'node:http';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { simulatedDesk } from '../../host/cli/simulated-desk';
import { openDesk, type Desk } from '../../host/desk/desk';
import { openLedger } from '../../host/ledger/ledger';
import { createPairing } from '../../host/server/pairing';
import { createRate } from '../../host/server/rate';
import { servePage, type PageServer } from '../../host/server/server';

let desk: Desk;
let server: PageServer;
beforeAll(async () => {
  const log = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
  const ledger = openLedger(log, { writer: 'bay 1', now: () => new Date() });
  desk = openDesk({ name: 'bay 1', ledger, bench: simulatedDesk({ log }) });
  server = await servePage({ desk, port: 0 });
});
afterAll(async () => {
  await server.close();
  await desk.close();
});

interface Reply {
  readonly status: number;
  readonly headers: IncomingMessage['headers'];
  readonly body: string;
  readonly error: number | undefined;
}

function ask(
  path: string,
  options: { method?: string; headers?: Record<string, string>; body?: string | Buffer; port?: number } = {},
): Promise<Reply> {
  const { method = 'GET', headers = {}, body, port = server.port } = options;
  return new Promise((resolve, reject) => {
    const sent = request({ host: '127.0.0.1', port, path, method, headers }, (reply) => {
      let text = '';
      reply.on('data', (chunk: Buffer) => (text += chunk.toString()));
      reply.on('end', () => {
        const isJson = reply.headers['content-type']?.startsWith('application/json') === true;
        const error = isJson ? (JSON.parse(text) as { error?: { number: number } }).error?.number : undefined;
        resolve({ status: reply.statusCode ?? 0, headers: reply.headers, body: text, error });
      });
    });
    sent.on('error', reject);
    sent.end(body);
  });
}

const JSON_BODY = { 'Content-Type': 'application/json' };
const post = (path: string, body: string, headers: Record<string, string> = {}) =>
  ask(path, { method: 'POST', body, headers: { ...JSON_BODY, ...headers } });
const ORDER = JSON.stringify({
  use: 'levelling',
  model: 'Pimwick 76',
  serialNumber: '',
  workOrder: '',
  technician: '',
});

it.each(['evil.example', 'evil.example:8118', '127.0.0.1', '127.0.0.1.evil.example:1', '[::1]'])(
  'a page that another name points here with (%s) gets nothing',
  async (host) => {
    const reply = await ask('/', { headers: { Host: host } });
    expect([reply.status, reply.error]).toEqual([421, 503]);
  },
);

it.each(['https://evil.example', 'http://localhost:1', 'null', 'http://127.0.0.1'])(
  'another origin (%s) opens no job and reads no stream',
  async (origin) => {
    const before = desk.ledger.jobs().length;
    for (const reply of [
      await post('/api/job/open', ORDER, { Origin: origin }),
      await ask('/api/stream', { headers: { Origin: origin } }),
    ])
      expect([reply.status, reply.error]).toEqual([403, 504]);
    expect(desk.ledger.jobs()).toHaveLength(before);
  },
);

it('a form or an image of another page is refused by what the browser says of it', async () => {
  const site = { 'Sec-Fetch-Site': 'cross-site' };
  expect((await post('/api/job/open', ORDER, site)).error).toBe(504);
  expect((await ask('/api/job/1/sheet.pdf', { headers: site })).error).toBe(504);
  // A link on another page may open this one.
  expect((await ask('/', { headers: site })).status).toBe(200);
});

it('a form can only be sent as text: that is not read', async () => {
  for (const type of ['text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data']) {
    const reply = await post('/api/job/open', ORDER, { 'Content-Type': type });
    expect([reply.status, reply.error]).toEqual([400, 509]);
  }
});

it('what is too large is refused, said and unsaid', async () => {
  const large = JSON.stringify({ code: 'x'.repeat(300_000) });
  expect(await post('/api/job/open', large)).toMatchObject({ status: 413, error: 505 });
  const chunked = await ask('/api/job/open', {
    method: 'POST',
    headers: { ...JSON_BODY, 'Transfer-Encoding': 'chunked' },
    body: large,
  });
  expect(chunked).toMatchObject({ status: 413, error: 505 });
});

it.each([
  ['no JSON', '{'],
  ['nothing', ''],
  ['another form', '{"use":"sabotage"}'],
  ['a field too many', ORDER.replace('{', '{"__proto__":{"a":1},"simulated":false,')],
  ['a number for a text', ORDER.replace('"serialNumber":""', '"serialNumber":1')],
  ['deep nesting', '['.repeat(50_000) + ']'.repeat(50_000)],
])('a body that is %s is refused with what is wrong in it', async (_, body) => {
  expect(await post('/api/job/open', body)).toMatchObject({ status: 400, error: 509 });
});

it.each([
  '/../package.json',
  '/..%2fpackage.json',
  '/%2e%2e/%2e%2e/etc/passwd',
  '/....//package.json',
  '/page.js/../../host/cli/serve.ts',
  '/page.js%00.html',
  '//etc/passwd',
  '/api/../../package.json',
  '/.git/config',
  '/bay.swathplane-log',
  '/api/job/%2e%2e/sheet.pdf',
  '/api/job/1e999/sheet.pdf',
])('a path with a trick (%s) leads to no file', async (path) => {
  const reply = await raw(
    `GET ${path} HTTP/1.1\r\nHost: 127.0.0.1:${server.port}\r\nConnection: close\r\n\r\n`,
  );
  expect(reply).toMatch(/^HTTP\/1\.1 404/);
  expect(reply).toMatch(/"number":(507|256)/);
});

/** As it stands: no library tidies the path on its way. */
function raw(bytes: string): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(server.port, '127.0.0.1', () => socket.write(bytes));
    let text = '';
    socket.on('data', (chunk) => (text += chunk.toString()));
    socket.on('end', () => resolve(text));
    socket.on('error', reject);
  });
}

it('the page may load nothing from elsewhere, run nothing inline and stand in no frame', async () => {
  const { headers } = await ask('/');
  const policy = String(headers['content-security-policy']);
  for (const part of [
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "connect-src 'self'",
    "frame-ancestors 'none'",
    "base-uri 'none'",
    "require-trusted-types-for 'script'",
  ])
    expect(policy).toContain(part);
  expect(policy).not.toMatch(/unsafe|\*|http/);
  expect(headers).toMatchObject({
    'x-content-type-options': 'nosniff',
    'x-frame-options': 'DENY',
    'referrer-policy': 'no-referrer',
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-resource-policy': 'same-origin',
    'cache-control': 'no-store',
  });
});

it('this computer alone is answered unless it is said otherwise', () => {
  expect(server.addresses).toEqual([`http://127.0.0.1:${server.port}/`]);
});

it('whoever asks more often than a person can is told to wait, and others are not', async () => {
  const clock = { ms: 0 };
  const rate = createRate({ most: 3, perMs: 3000 }, () => clock.ms);
  expect([1, 2, 3, 4].map(() => rate.admits('one'))).toEqual([true, true, true, false]);
  expect(rate.admits('another')).toBe(true);
  clock.ms += 1000;
  expect([1, 2].map(() => rate.admits('one'))).toEqual([true, false]);

  const crowd = await servePage({ desk, port: 0 });
  const replies = await Promise.all(
    Array.from({ length: 500 }, () => ask('/api/welcome', { port: crowd.port })),
  );
  expect(replies.find((r) => r.status !== 200)).toMatchObject({ status: 429, error: 506 });
  await crowd.close();
});

it('more screens than a bay has are refused by number, on one computer and in all; one that goes makes room', async () => {
  const hall = await servePage({ desk, port: 0 });
  /** A screen of a computer of this address; gives what ends it, or the number that it was refused with. */
  const listen = (localAddress: string) =>
    new Promise<(() => void) | number>((resolve, reject) => {
      const to = { host: '127.0.0.1', port: hall.port, path: '/api/stream', localAddress };
      const sent = request(to, (reply) => {
        if (reply.statusCode === 200) return resolve(() => void sent.destroy());
        let text = '';
        reply.on('data', (chunk: Buffer) => (text += chunk.toString()));
        reply.on('end', () => resolve((JSON.parse(text) as { error: { number: number } }).error.number));
      });
      sent.on('error', reject);
      sent.end();
    });
  const outcomes = async (address: string, times: number) => {
    const all: Awaited<ReturnType<typeof listen>>[] = [];
    for (let i = 0; i < times; i += 1) all.push(await listen(address));
    return all;
  };
  const first = await outcomes('127.0.0.2', 13);
  expect(first.filter((o) => o === 513)).toEqual([513]);
  for (const address of ['127.0.0.3', '127.0.0.4', '127.0.0.5'])
    expect((await outcomes(address, 12)).filter((o) => o === 513)).toEqual([]);
  // 48 listen: another computer is refused, though it has no other screen; so it is told when it asks why.
  expect(await listen('127.0.0.6')).toBe(513);
  expect(await ask('/api/welcome', { port: hall.port })).toMatchObject({ status: 503, error: 513 });
  const [gone] = first;
  if (typeof gone === 'function') gone();
  await expect.poll(async () => typeof (await listen('127.0.0.2'))).toBe('function');
  await hall.close();
});

describe('pairing', () => {
  const made = (start = 0) => {
    const clock = { ms: start };
    const shown: string[] = [];
    const secret = new Uint8Array(32).fill(7);
    const pairing = createPairing({ secret, nowMs: () => clock.ms, show: (code) => shown.push(code) });
    return { pairing, shown, clock };
  };

  it('takes the code that is shown, and knows the screen from then on, after a restart too', () => {
    const { pairing, shown } = made();
    const token = pairing.pair(`${shown[0]?.slice(0, 4)} ${shown[0]?.slice(4)}`);
    expect(pairing.knows(token)).toBe(true);
    expect(made().pairing.knows(token)).toBe(true);
    for (const forged of ['', '.', 'x', `${token}0`, token.replace(/.$/, (c) => (c === '0' ? '1' : '0'))])
      expect(pairing.knows(forged)).toBe(false);
  });

  it('lets nobody guess: five wrong codes, then a pause and another code', () => {
    const { pairing, shown, clock } = made();
    const right = shown[0] ?? '';
    const wrong = right === '00000000' ? '11111111' : '00000000';
    for (let i = 0; i < 5; i += 1) expect(() => pairing.pair(wrong)).toThrow('E502');
    expect(() => pairing.pair(right)).toThrow('E506');
    clock.ms += 30_001;
    expect(shown).toHaveLength(2);
    expect(shown[1]).not.toBe(right);
    expect(() => pairing.pair(right)).toThrow('E502');
    expect(pairing.knows(pairing.pair(shown[1] ?? ''))).toBe(true);
  });
});
