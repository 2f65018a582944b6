import { mkdtemp, rm, symlink, unlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { listPorts, openLink, openSerialPort } from '../../host/link/index';
import type { Link, LinkOptions } from '../../host/link/index';
import { createPeer, createShelf } from '../unit/link/peer';
import type { Peer } from '../unit/link/peer';
import { openPseudoTerminal } from './pseudo-terminal';
import type { PseudoTerminal } from './pseudo-terminal';

const quick = { replyMs: 100, pollMs: 200, backoffMsMin: 20, backoffMsMax: 50 };
const endings: (() => Promise<void> | void)[] = [];

afterEach(async () => {
  for (const end of endings.splice(0).reverse()) await end();
});

/** A pseudo-terminal with the peer on its far end. */
function plugIn(peer: Peer): PseudoTerminal {
  const terminal = openPseudoTerminal((bytes) => receive(bytes));
  const receive = peer.listenOn((bytes) => terminal.write(bytes));
  endings.push(() => terminal.hangUp());
  return terminal;
}

async function connect(path: string, options: Partial<LinkOptions> = {}): Promise<Link> {
  const keep = createShelf().keep;
  const link = await openLink({
    open: () => openSerialPort(path),
    name: path,
    keep,
    timing: quick,
    ...options,
  });
  endings.push(() => link.close());
  return link;
}

describe('a real terminal', () => {
  it('carries every byte value both ways and 200 requests in a row', async () => {
    const peer = createPeer();
    peer.identity = {
      ...peer.identity,
      fixtureId: Array.from({ length: 160 }, (_, i) => String.fromCharCode(i)).join(''),
    };
    const link = await connect(plugIn(peer).path);
    expect(link.identity()).toEqual(peer.identity);
    const arm = { job: 0x00_0d_0a_03, step: 0x1a_11, purpose: 4, liveHz: 13, standardErrorUm: 0x13_7f };
    for (let n = 0; n < 200; n += 1) await link.request('arm', { ...arm, purpose: n });
    const asked = peer.asked.filter((m) => m.name === 'arm').map((m) => m.body);
    // What is not answered in time is asked again, and a busy machine may be late.
    const each = asked.filter((body, i) => JSON.stringify(body) !== JSON.stringify(asked[i - 1]));
    expect(each).toEqual(Array.from({ length: 200 }, (_, purpose) => ({ ...arm, purpose })));
  });

  it('that another program holds ends in E202 and says who; closing frees it', async () => {
    const { path } = plugIn(createPeer());
    const link = await connect(path);
    await expect(openSerialPort(path)).rejects.toMatchObject({
      number: 202,
      about: expect.stringContaining(`(process ${process.pid})`) as string,
    });
    await link.close();
    const port = await openSerialPort(path);
    await new Promise((resolve) => port.close(resolve));
  });

  it('that does not exist, or is a file, ends in E201', async () => {
    await expect(openSerialPort('/dev/tty-of-nobody')).rejects.toMatchObject({
      number: 201,
      about: '/dev/tty-of-nobody',
    });
    const folder = await mkdtemp(join(tmpdir(), 'swathplane-tty-'));
    endings.push(() => rm(folder, { recursive: true }));
    const file = join(folder, 'file');
    await writeFile(file, 'text');
    await expect(openSerialPort(file)).rejects.toMatchObject({
      number: 201,
      about: expect.stringContaining('no serial port') as string,
    });
  });

  it('is not needed in the list of ports, which can be had on any computer', async () => {
    const { path } = plugIn(createPeer());
    expect((await listPorts()).map((p) => p.path)).not.toContain(path);
    await connect(path);
  });

  it('with an echo on its far end is no fixture (E203)', async () => {
    const terminal = openPseudoTerminal((bytes) => terminal.write(bytes));
    endings.push(() => terminal.hangUp());
    await expect(connect(terminal.path)).rejects.toMatchObject({ number: 203 });
  });

  it('with nothing on its far end is silent (E205)', async () => {
    const terminal = openPseudoTerminal(() => {});
    endings.push(() => terminal.hangUp());
    await expect(connect(terminal.path)).rejects.toMatchObject({ number: 205 });
  });

  it('heals after garbage, and every capture is kept once', async () => {
    const peer = createPeer();
    const { path } = plugIn(peer);
    const shelf = createShelf();
    const garbage = vi.fn();
    const link = await connect(path, { keep: shelf.keep, listeners: { garbage } });
    for (let n = 0; n < 20; n += 1) {
      peer.say([0x11, 0x13, 0x03, 0x04, 0xff, n]);
      peer.capture();
      if (n % 5 === 0) await link.request('disarm', {});
    }
    await vi.waitFor(() => expect(peer.journal.size).toBe(0), 5000);
    expect([...shelf.kept.values()].map((c) => c.capture).sort((a, b) => a - b)).toEqual(
      Array.from({ length: 20 }, (_, i) => i + 1),
    );
    expect(garbage).toHaveBeenCalled();
  });

  it('that hangs up in the middle of a request rejects it (E206) and is taken up again under its stable name', async () => {
    const peer = createPeer();
    const folder = await mkdtemp(join(tmpdir(), 'swathplane-tty-'));
    endings.push(() => rm(folder, { recursive: true }));
    const stableName = join(folder, 'fixture');
    const first = plugIn(peer);
    await symlink(first.path, stableName);
    const shelf = createShelf();
    const lost = vi.fn();
    const back = vi.fn();
    const link = await connect(stableName, { keep: shelf.keep, listeners: { lost, back } });
    peer.answer = (request) => (request.name === 'capture' ? [] : undefined);
    const out = link.request('capture', {});
    first.hangUp();
    await expect(out).rejects.toMatchObject({ number: 206 });
    expect(lost).toHaveBeenCalledExactlyOnceWith(expect.objectContaining({ number: 206 }));

    peer.capture();
    peer.restart();
    await unlink(stableName);
    const second = plugIn(peer);
    await symlink(second.path, stableName);
    await vi.waitFor(() => expect(back).toHaveBeenCalledOnce(), 5000);
    expect(back).toHaveBeenCalledWith(
      expect.objectContaining({ restarted: expect.objectContaining({ number: 210 }) as unknown }),
    );
    expect(shelf.kept.size).toBe(1);
    await expect(link.request('disarm', {})).resolves.toEqual({});
  });
});
