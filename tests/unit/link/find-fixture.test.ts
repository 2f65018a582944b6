import { describe, expect, it } from 'vitest';
import { numberedError } from '../../../host/errors/errors';
import { findFixture } from '../../../host/link/index';
import { createBench } from './bench';
import { createPeer } from './peer';
import type { Peer } from './peer';

/** Ports of an invented computer: a fixture, a device that never answers, or one that another program holds. */
function computer(ports: Record<string, Peer | 'silent' | 'held'>) {
  const bench = createBench();
  return bench.settled(
    findFixture({
      timers: bench.timers,
      list: () => Promise.resolve(Object.keys(ports).map((path) => ({ path }))),
      open: (path) => {
        const port = ports[path];
        if (port === 'held' || port === undefined) return Promise.reject(numberedError('port in use', path));
        if (port !== 'silent') return port.open();
        const silent = createPeer();
        silent.toFixture = () => [];
        return silent.open();
      },
    }),
  );
}

describe('the search for the fixture', () => {
  it('finds the only one among other devices', async () => {
    const found = await computer({ a: 'silent', b: createPeer('left bay'), c: 'held' });
    expect(found).toMatchObject({ path: 'b', identity: { fixtureId: 'left bay' } });
  });

  it('finds one of another protocol version too: the handshake says the rest', async () => {
    const peer = createPeer();
    peer.identity = { ...peer.identity, protocolMajor: 2 };
    await expect(computer({ a: peer })).resolves.toMatchObject({ path: 'a' });
  });

  it('ends in E207 when there is none, saying what is on the ports', async () => {
    await expect(computer({ a: 'silent', b: 'held' })).rejects.toMatchObject({
      number: 207,
      about: 'a: no answer; b: port in use',
    });
    await expect(computer({})).rejects.toMatchObject({ number: 207 });
  });

  it('ends in E208 naming all when there are several', async () => {
    await expect(computer({ a: createPeer('one'), b: createPeer('two') })).rejects.toMatchObject({
      number: 208,
      about: 'one on a, two on b',
    });
  });
});
