import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../host/simulation/random';
import { createBench } from './bench';
import type { Bench } from './bench';
import { honestLine } from './peer';
import type { Line } from './peer';

describe('captures', () => {
  it('are on the disk before the fixture may forget them', async () => {
    const bench = createBench();
    const link = await bench.connect();
    const keptAtAcknowledge: number[] = [];
    bench.peer.answer = (request) => {
      if (request.name === 'acknowledge') keptAtAcknowledge.push(bench.shelf.kept.size);
      return undefined;
    };
    bench.peer.capture();
    await bench.timers.advance(10);
    expect(keptAtAcknowledge).toEqual([1]);
    expect(bench.peer.journal.size).toBe(0);
    await link.close();
  });

  it('are kept once and acknowledged once when the notice is doubled', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.toHost = (frame) => [frame, frame];
    bench.peer.capture();
    await bench.timers.advance(10);
    expect(bench.tellings('captured').map((c) => c.kept)).toEqual(['kept', 'already kept']);
    expect(bench.peer.asked.filter((m) => m.name === 'acknowledge')).toHaveLength(1);
    await link.close();
  });

  it('are found within a few seconds when the notice was lost, though live readings keep coming', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.toHost = () => [];
    bench.peer.capture();
    bench.peer.toHost = honestLine;
    for (let n = 0; n < 25; n += 1) {
      bench.peer.uptimeMs += 100;
      await bench.timers.advance(100);
    }
    expect(bench.shelf.kept.size).toBe(1);
    expect(bench.peer.journal.size).toBe(0);
    await link.close();
  });

  it('are asked for at once when damage may have hurt them', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.toHost = (frame) => [[...frame.slice(0, 3), ...frame.slice(4)]];
    bench.peer.capture();
    bench.peer.toHost = honestLine;
    await bench.timers.advance(250);
    expect(bench.shelf.kept.size).toBe(1);
    await link.close();
  });

  it('that cannot be kept are not acknowledged, are reported, and are kept later', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.shelf.full = true;
    bench.peer.capture();
    await bench.timers.advance(10);
    expect(bench.peer.journal.size).toBe(1);
    expect(bench.tellings('error')[0]?.number).toBe(254);
    expect(bench.tellings('captured')).toEqual([]);
    bench.shelf.full = false;
    await bench.timers.advance(3000);
    expect(bench.tellings('captured').map((c) => c.kept)).toEqual(['kept']);
    expect(bench.peer.journal.size).toBe(0);
    await link.close();
  });

  it('that other hands fetched leave a gap in the numbers, which is told once', async () => {
    const bench = createBench();
    const link = await bench.connect();
    bench.peer.capture();
    await bench.timers.advance(10);
    bench.peer.toHost = () => [];
    const stolen = [bench.peer.capture(), bench.peer.capture()];
    bench.peer.journal.clear();
    bench.peer.toHost = honestLine;
    bench.peer.capture();
    await bench.timers.advance(6000);
    expect(bench.tellings('missing')).toEqual([{ captures: stolen }]);
    await link.close();
  });

  it('that are missing show when the fixture is armed again', async () => {
    const bench = createBench();
    const link = await bench.connect();
    const arm = { job: 7, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 20 };
    await bench.settled(link.request('arm', arm));
    bench.peer.toHost = () => [];
    const stolen = bench.peer.capture();
    bench.peer.journal.clear();
    bench.peer.toHost = honestLine;
    await bench.settled(link.request('arm', arm));
    await bench.timers.advance(3000);
    expect(bench.tellings('missing')).toEqual([{ captures: [stolen] }]);
    await link.close();
  });

  it('are each kept exactly once and forgotten by the fixture, whatever line, cable, power and disk do', async () => {
    const happening = fc.oneof(
      { weight: 6, arbitrary: fc.constant('capture' as const) },
      {
        weight: 1,
        arbitrary: fc.constantFrom('unplug', 'plug in', 'restart', 'disk full', 'disk free', 'say rubbish'),
      },
    );
    const story = fc.array(fc.record({ happening, waitMs: fc.nat({ max: 1500 }) }), {
      minLength: 5,
      maxLength: 40,
    });
    const nastiness = fc.record({
      lost: fc.integer({ min: 0, max: 40 }),
      doubled: fc.nat({ max: 30 }),
      hurt: fc.nat({ max: 30 }),
    });
    await fc.assert(
      fc.asyncProperty(story, nastiness, fc.nat(), async (steps, percent, seed) => {
        const bench = createBench();
        const link = await bench.connect();
        const line = nastyLine(percent, seed);
        bench.peer.toHost = line;
        bench.peer.toFixture = line;
        let taken = 0;
        for (const step of steps) {
          if (step.happening === 'capture') {
            bench.peer.capture();
            taken += 1;
          } else {
            befall(bench, step.happening);
          }
          bench.peer.uptimeMs += step.waitMs;
          await bench.timers.advance(step.waitMs);
        }
        bench.peer.toHost = honestLine;
        bench.peer.toFixture = honestLine;
        bench.peer.plugIn();
        bench.shelf.full = false;
        await bench.timers.advance(20_000);

        expect(link.connected()).toBe(true);
        expect(bench.peer.journal.size).toBe(0);
        expect([...bench.shelf.kept.values()].map((c) => c.capture).sort((a, b) => a - b)).toEqual(
          Array.from({ length: taken }, (_, i) => i + 1),
        );
        const counted = bench.tellings('captured').filter((c) => c.kept === 'kept');
        expect(counted).toHaveLength(taken);
        expect(bench.tellings('missing')).toEqual([]);
        await link.close();
        expect(bench.timers.pending()).toBe(0);
      }),
      { numRuns: 150, seed: 20_261_125 },
    );
  });
});

function befall(
  bench: Bench,
  what: 'unplug' | 'plug in' | 'restart' | 'disk full' | 'disk free' | 'say rubbish',
): void {
  if (what === 'unplug') bench.peer.unplug();
  if (what === 'plug in') bench.peer.plugIn();
  if (what === 'restart') bench.peer.restart();
  if (what === 'disk full') bench.shelf.full = true;
  if (what === 'disk free') bench.shelf.full = false;
  if (what === 'say rubbish') bench.peer.say([7, 0, 0, 255, 3, 9]);
}

/** A line that loses, doubles and hurts frames by chance, each with its percentage. */
function nastyLine(percent: { lost: number; doubled: number; hurt: number }, seed: number): Line {
  const random = seededRandom(seed);
  return (frame) => {
    if (random.chance(percent.lost / 100)) return [];
    if (random.chance(percent.doubled / 100)) return [frame, frame];
    if (!random.chance(percent.hurt / 100)) return [frame];
    const at = Math.floor(random.between(0, frame.length));
    return [frame.map((byte, i) => (i === at ? Math.floor(random.between(0, 256)) : byte))];
  };
}
