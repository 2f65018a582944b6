/**
 * A whole short job on the image: the tool's own conductor, link, ledger and solver against the emulated board in the
 * simulated shop. What it finds must agree with the shop's truth, which nothing of the tool can see.
 */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { workInTime } from '../../host/cli/simulated-bay';
import { conductJob } from '../../host/conduct/conduct';
import { openJob } from '../../host/conduct/open-job';
import { openLedger } from '../../host/ledger/ledger';
import { openLink } from '../../host/link';
import { loadProfile } from '../../host/machines/load';
import { assess } from '../../host/procedure/assess';
import { currentSetting } from '../../host/procedure/state';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import { createSimulatedFixture } from '../../host/simulation/fixture';
import { createShop } from '../../host/simulation/shop';
import { CANNOT_RUN, named, until, workbench } from './workbench';

/** Nobody waits for a technician here. */
const HURRY = {
  clampMs: 1000,
  turnBladeMs: 500,
  masterMs: 1000,
  takeOffMs: 300,
  feelMs: 100,
  seatMs: 500,
  tightenMs: 300,
  fetchWrenchMs: 100,
  perTurnMs: 100,
  pressMs: 200,
};
const SEED = 1;
/** Of the stated standard uncertainty: 3 in 1000 good measures lie beyond it. */
const FACTOR = 3;

describe.skipIf(CANNOT_RUN !== undefined)(named('a job on the image'), { timeout: 900_000 }, () => {
  it('is conducted to its end, and what it finds is what the shop is', async () => {
    const profile = loadProfile('pimwick-76');
    const shop = createShop({ seed: SEED, profile, body: EXAMPLE_BODY, ...HURRY });
    const unit = { world: shop, body: EXAMPLE_BODY, seed: SEED };
    const factory = await createSimulatedFixture(unit);
    const memory = factory.memory.slice();
    factory.close();
    const bench = await workbench({ ...unit, memory });
    await bench.within(until(() => bench.fixture.device !== undefined));
    const ledger = openLedger(join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log'), {
      writer: 'emulator',
      now: () => new Date('2026-11-25T12:00:00Z'),
    });
    const job = openJob(ledger, {
      use: 'inspection',
      profile,
      serialNumber: 'INVENTED',
      workOrder: '',
      technician: '',
      simulated: true,
      sequence: 'quick',
    });
    const { hands, stop } = workInTime(shop, {
      get nowUs() {
        return bench.fixture.nowUs;
      },
      advance: (us) => {
        for (let passed = 0; passed < us; passed += 1000) bench.pass(1000);
      },
    });
    const state = await conductJob({
      ledger,
      job,
      hands,
      screen: {
        task: () => {},
        live: () => {},
        captured: () => {},
        assessed: () => {},
        notice: () => {},
      },
      openLinks: [
        (given) =>
          openLink({
            ...given,
            open: () => bench.fixture.openPort(),
            name: 'emulated port',
            timers: bench.timers,
          }),
      ],
    });
    stop();
    const captures = ledger
      .events(job)
      .flatMap(({ event }) => (event.type === 'captured' ? [event.capture.capture] : []));
    ledger.close();
    expect(state.closed).toBeDefined();
    expect(captures.length).toBeGreaterThan(8);
    expect(captures).toEqual(captures.map((_, i) => i + 1));

    const found = assess(state, currentSetting(state)!).result.perMeasure;
    expect(found.filter((measure) => measure.determined).length).toBeGreaterThan(1);
    for (const measure of found) {
      if (!measure.determined) continue;
      const offMm = Math.abs(measure.valueMm - shop.trueMeasureMm(measure.name));
      expect(offMm / measure.standardUncertaintyMm, measure.name).toBeLessThan(FACTOR);
      // An uncertainty of anything would agree with everything.
      expect(measure.standardUncertaintyMm, measure.name).toBeLessThan(2);
    }
    expect([bench.fixture.resets, bench.fixture.complaints]).toEqual([[], []]);
  });
});
