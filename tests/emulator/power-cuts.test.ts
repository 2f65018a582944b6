/** Power cuts on the image, a spread of them; all points: `npm run prove -- board-cuts`. */
import { describe, expect, it } from 'vitest';
import { allCuts, spread, whatIsWrongAfter } from './power-cuts';
import { ORDER, CANNOT_RUN, named, until, workbench } from './workbench';

const suite = { timeout: 600_000 };

describe.skipIf(CANNOT_RUN !== undefined)(named('power cuts on the image'), suite, () => {
  it('lose, double or tear nothing that was told, whatever byte was the last', async () => {
    const cuts = await allCuts();
    // Two captures of at least 80 bytes with their marks, two acknowledgements, a calibration of 16 knots and its end.
    expect(cuts.filter(({ during }) => during === 'capture').length).toBeGreaterThan(160);
    expect(cuts.filter(({ during }) => during === 'acknowledgement')).toHaveLength(2);
    expect(cuts.filter(({ during }) => during === 'calibration').length).toBeGreaterThan(150);
    // That this can fail at all: what is told at the end does not agree with what was there at the beginning.
    expect(await whatIsWrongAfter({ ...cuts[0], told: cuts.at(-1)!.told })).not.toEqual([]);
    for (const cut of spread(cuts, 4)) expect(await whatIsWrongAfter(cut)).toEqual([]);
  });

  it('of the chip itself in the middle of a capture: the capture is whole or is not there', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    await bench.within(until(() => fixture.device !== undefined));
    const link = await bench.link();
    await bench.within(link.request('arm', { ...ORDER, liveHz: 0 }));
    fixture.cutPowerAfterStoring(60);
    link.request('capture', {}).catch(() => undefined);
    await bench.within(
      until(() => !fixture.hasPower),
      9000,
    );
    expect(fixture.laserOn).toBe(false);
    fixture.plugIn();
    await bench.within(
      until(() => link.connected()),
      8000,
    );
    expect(bench.captures).toEqual([]);
    const armed = await bench.within(link.request('arm', { ...ORDER, liveHz: 0 }));
    expect(armed.nextCapture).toBe(1);
    await bench.within(link.close());
  });
});
