/**
 * A calibration from end to end: the tool's own session over the link, the emulated board with a sensor that reads wrong, a
 * simulated height master. What it finds is held against the simulation's own curve.
 */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { benchHands } from '../../host/cli/simulated-bench';
import {
  readCalibrations,
  settleCalibration,
  writeCalibrations,
} from '../../host/conduct/fixture-calibrations';
import { conductGauging } from '../../host/conduct/gauging-session';
import { calibrationsInLog } from '../../host/conduct/gauging-in-log';
import { calibrationSteps } from '../../host/gauging/calibration/plan';
import { calibrate } from '../../host/gauging/calibration/solve';
import { NOMINAL_HEIGHT_MASTER } from '../../host/gauging/height-master';
import { openLedger } from '../../host/ledger/ledger';
import { openLink } from '../../host/link';
import { createBench } from '../../host/simulation/bench';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import { createSimulatedFixture } from '../../host/simulation/fixture';
import { seededRandom } from '../../host/simulation/random';
import { BLOCKS_MM, REFERENCES, distorted, worstErrorMm } from '../unit/gauging/distorted-sensor';
import { CANNOT_RUN, named, until, workbench } from './workbench';

const SEED = 3;
const BAR_MM = 0.05;

describe.skipIf(CANNOT_RUN !== undefined)(named('a calibration on the image'), { timeout: 1_800_000 }, () => {
  it('finds offset, gain and cubic to 0.05 mm, keeps it over a power cut, and is whole after one in the middle', async () => {
    const random = seededRandom(SEED);
    const world = createBench({ body: EXAMPLE_BODY, random });
    const unit = { world, body: EXAMPLE_BODY, seed: SEED };
    const factory = await createSimulatedFixture(unit);
    const memory = factory.memory.slice();
    factory.close();
    const bench = await workbench({ ...unit, memory });
    const { fixture } = bench;
    const ready = () => bench.within(until(() => fixture.device !== undefined));
    await ready();
    const truth = fixture.trueCalibration;

    const spoil = await bench.link();
    const wrong = await bench.within(writeCalibrations(spoil, truth.map(distorted)));
    await bench.within(spoil.close());
    expect(Math.min(...wrong.map((c, i) => worstErrorMm(c, truth[i])))).toBeGreaterThan(0.8);

    const ledger = openLedger(join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log'), {
      writer: 'emulator',
      now: () => new Date('2026-06-01T12:00:00Z'),
    });
    const nothing = () => undefined;
    const session = conductGauging(
      {
        ledger,
        hands: benchHands(world, random.split('technicians'), random),
        screen: { task: nothing, live: nothing, captured: nothing, notice: nothing },
        openLink: (given) =>
          openLink({ ...given, open: () => fixture.openPort(), name: 'emulated', timers: bench.timers }),
      },
      (at) => ({
        use: 'calibration',
        on: '2026-06-01',
        technician: 'invented',
        simulated: true,
        master: NOMINAL_HEIGHT_MASTER,
        references: REFERENCES,
        steps: calibrationSteps(NOMINAL_HEIGHT_MASTER, BLOCKS_MM, at.calibrations),
      }),
      async (found, link) => {
        const record = calibrate(found);
        expect(record.faults).toEqual([]);
        // Power fails while the second head's calibration is being stored, and the program with it.
        await writeCalibrations(link, record.calibrations.slice(0, 1));
        fixture.cutPowerAfterStoring(60);
        writeCalibrations(link, record.calibrations.slice(1)).catch(nothing);
        await until(() => !fixture.hasPower);
        return record;
      },
    );
    const record = await bench.within(session, 600_000);
    expect(calibrationsInLog(ledger)).toEqual([]);

    fixture.plugIn();
    await ready();
    const link = await bench.link();
    const torn = await bench.within(readCalibrations(link));
    // The first is the new one; of the second the old one stands, and nothing in between.
    expect(torn[0]).toMatchObject({ knots: record.calibrations[0].knots });
    expect(torn[1]).toEqual(wrong[1]);
    expect(await bench.within(settleCalibration(ledger, link))).toEqual([
      expect.stringContaining('had reached one head only'),
    ]);
    const held = await bench.within(readCalibrations(link));
    await bench.within(link.close());
    fixture.powerCycle();
    await ready();
    const after = await bench.link();
    expect(await bench.within(readCalibrations(after))).toEqual(held);
    expect(calibrationsInLog(ledger)).toMatchObject([{ session: 1, calibrations: held }]);
    const leftMm = held.map((c, i) => worstErrorMm(c, truth[i]));
    console.log(
      `calibration on the image: off by ${leftMm.map((mm) => mm.toFixed(3)).join(' and ')} mm at most`,
    );
    expect(Math.max(...leftMm)).toBeLessThanOrEqual(BAR_MM);
    await bench.within(after.close());
    expect(fixture.complaints).toEqual([]);
    ledger.close();
  });
});
