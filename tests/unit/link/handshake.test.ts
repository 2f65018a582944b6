import { describe, expect, it } from 'vitest';
import { identifyPort, rebootToUpdate } from '../../../host/link/index';
import { createBench } from './bench';

const text = (words: string) => [...words].map((c) => c.charCodeAt(0));

describe('the handshake', () => {
  it('tells who is there and asks for what the fixture holds', async () => {
    const bench = createBench();
    bench.peer.capture();
    const link = await bench.connect();
    expect(link.identity().fixtureId).toBe('test-1');
    expect(link.warning()).toBeUndefined();
    await bench.timers.advance(10);
    expect(bench.peer.asked.map((m) => m.name)).toEqual(['identify', 'resend', 'acknowledge']);
    expect([...bench.shelf.kept.keys()]).toEqual(['test-1/1']);
    await link.close();
  });

  it('refuses another major version with E204, naming both, and still can ask for the restart', async () => {
    const bench = createBench();
    bench.peer.identity = {
      ...bench.peer.identity,
      protocolMajor: 2,
      protocolMinor: 3,
      firmwareVersion: '9.1.0',
    };
    await expect(bench.connect()).rejects.toMatchObject({
      number: 204,
      about: expect.stringMatching(/2\.3.*1\.0/) as string,
    });
    expect(bench.peer.asked.map((m) => m.name)).toEqual(['identify']);

    const { open } = bench.peer;
    await bench.settled(rebootToUpdate({ open, name: 'peer', timers: bench.timers }));
    expect(bench.peer.asked.at(-1)).toMatchObject({
      name: 'reboot-to-update',
      body: { confirmation: 0x54445055 },
    });
  });

  it('works with another table of the same version, but warns', async () => {
    const bench = createBench();
    bench.peer.identity = { ...bench.peer.identity, tableHash: 1 };
    const link = await bench.connect();
    expect(link.warning()).toMatch(/tables differ/);
    await link.close();
  });

  it('calls an echo no fixture (E203)', async () => {
    const bench = createBench();
    bench.peer.toFixture = (frame) => {
      bench.peer.say(frame);
      return [];
    };
    await expect(bench.connect()).rejects.toMatchObject({
      number: 203,
      about: expect.stringContaining('sends back') as string,
    });
  });

  it('calls a text console no fixture (E203) and quotes it', async () => {
    const bench = createBench();
    bench.peer.toFixture = () => {
      bench.peer.say(text('login: '));
      return [];
    };
    await expect(bench.connect()).rejects.toMatchObject({
      number: 203,
      about: expect.stringContaining('login: ') as string,
    });
  });

  it('calls silence E205, after sending four times the same bytes', async () => {
    const bench = createBench();
    const sent: number[][] = [];
    bench.peer.toFixture = (frame) => {
      sent.push([...frame]);
      return [];
    };
    await expect(bench.connect()).rejects.toMatchObject({ number: 205 });
    const [delimiter, request] = sent;
    expect(delimiter).toEqual([0]);
    expect(request?.length).toBeGreaterThan(1);
    expect(sent).toEqual([delimiter, request, delimiter, request, delimiter, request, delimiter, request]);
    expect(bench.timers.pending()).toBe(0);
  });

  it('survives garbage before and between the replies', async () => {
    const bench = createBench();
    bench.peer.toHost = (frame) => [text('boot: ok\r\n\0'), frame, [1, 2, 3, 0]];
    bench.peer.capture();
    const link = await bench.connect();
    await bench.timers.advance(10);
    expect(bench.shelf.kept.size).toBe(1);
    expect(bench.tellings('garbage')[0]?.error.number).toBe(209);
    await link.close();
  });

  it('ends in E206 when the cable is pulled while captures are still expected', async () => {
    const bench = createBench();
    bench.peer.answer = (request) => {
      if (request.name !== 'resend') return undefined;
      setImmediate(() => bench.peer.unplug());
      return [{ name: 'resending', sequence: request.sequence, body: { count: 3 } }];
    };
    await expect(bench.connect()).rejects.toMatchObject({ number: 206 });
  });

  it('gives the error of the port as it is', async () => {
    const bench = createBench();
    bench.peer.unplug();
    await expect(bench.connect()).rejects.toMatchObject({ number: 201 });
    await expect(identifyPort({ open: bench.peer.open, name: 'peer' })).rejects.toMatchObject({
      number: 201,
    });
  });
});
