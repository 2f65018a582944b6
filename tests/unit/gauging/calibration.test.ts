/** Calibration, check and study with the real firmware in the simulated shop, against what only the simulation knows. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { benchHands } from '../../../host/cli/simulated-bench';
import { runTime } from '../../../host/cli/simulated-bay';
import {
  conductGauging,
  writeCalibrations,
  type FixtureAtHand,
  type GaugingOptions,
} from '../../../host/conduct/gauging-session';
import {
  historiesInLog,
  noteInstruments,
  placementInLog,
  sessionInLog,
} from '../../../host/conduct/gauging-in-log';
import type { NumberedError } from '../../../host/errors/errors';
import { calibrationSteps } from '../../../host/gauging/calibration/plan';
import { calibrate } from '../../../host/gauging/calibration/solve';
import { checkSteps } from '../../../host/gauging/daily-check';
import { NOMINAL_HEIGHT_MASTER } from '../../../host/gauging/height-master';
import type { Equipment } from '../../../host/gauging/equipment';
import type { SessionOpened } from '../../../host/gauging/events';
import { placementStudy } from '../../../host/gauging/study/accept';
import { studySteps } from '../../../host/gauging/study/plan';
import { studyReadings } from '../../../host/cli/study-session';
import { openLedger } from '../../../host/ledger/ledger';
import { openLink } from '../../../host/link/index';
import { createBench } from '../../../host/simulation/bench';
import { EXAMPLE_BODY } from '../../../host/simulation/body';
import { createSimulatedFixture } from '../../../host/simulation/fixture';
import { seededRandom } from '../../../host/simulation/random';
import { captureHeightUm } from '../../../protocol/solver';
import type { Body } from '../../../protocol/wire/messages';

const folder = mkdtempSync(join(tmpdir(), 'swathplane-gauging-'));
afterAll(() => rmSync(folder, { recursive: true }));

const BLOCKS = [5, 10, 15, 20, 25, 30, 32, 35, 40, 45, 50, 55, 58, 60];
const reference = (kind: Equipment['kind'], values: readonly number[], U: number): Equipment => ({
  id: kind,
  kind,
  certificate: 'invented',
  laboratory: 'invented',
  calibratedOn: '2026-01-01',
  due: '2027-01-01',
  expandedUncertainty: U,
  unit: 'mm',
  values,
});
const REFERENCES = [
  reference('height master', [35, 85, 75, 125], 0.06),
  reference('gauge blocks', BLOCKS, 0.004),
];

async function openBench(seed: number) {
  const random = seededRandom(seed);
  const bench = createBench({ body: EXAMPLE_BODY, random });
  const fixture = await createSimulatedFixture({
    world: bench,
    body: EXAMPLE_BODY,
    seed,
    fixtureId: `T-${seed}`,
  });
  const time = runTime(fixture);
  const ledger = openLedger(join(folder, `${seed}.swathplane-log`), {
    writer: 'test',
    now: () => new Date(),
  });
  const screen = { task: () => {}, live: () => {}, captured: () => {}, notice: () => {} };
  const hands = benchHands(bench, seededRandom(seed).split('technicians'), random);
  const open = () => fixture.openPort();
  return {
    link: () => openLink({ open, name: 'simulated', keep: () => 'already kept' as const }),
    bench,
    fixture,
    ledger,
    gauging: {
      ledger,
      hands,
      screen,
      openLink: (given: Parameters<GaugingOptions['openLink']>[0]) =>
        openLink({ ...given, open, name: 'simulated' }),
    },
    close: () => {
      time.stop();
      fixture.close();
      ledger.close();
    },
  };
}

const opened = (use: SessionOpened['use'], steps: SessionOpened['steps'], references = REFERENCES) => ({
  use,
  on: '2026-06-01',
  technician: 'invented',
  simulated: true,
  master: NOMINAL_HEIGHT_MASTER,
  references,
  steps,
});

/** The distances of a calibration, made wrong by an offset, a gain and a cubic. */
function distorted(calibration: Body<'calibration'>): Body<'calibration'> {
  const wrong = (um: number) => {
    const x = (um / 1000 - 100) / 35;
    return Math.round(um + 1000 * (0.8 + 0.9 * x - 0.7 * x ** 3));
  };
  return { ...calibration, knots: calibration.knots.map((v, i) => (i % 2 === 0 ? v : wrong(v))) };
}

/** Greatest error of the height of a level fixture over the laser's span, against the simulation's own curve. */
function worstErrorMm(found: Body<'calibration'>, truth: Body<'calibration'>): number {
  const { knots } = truth;
  const low = knots[0];
  const high = knots[knots.length - 2];
  const errors = Array.from({ length: 201 }, (_, i) => {
    const countsMean = low + ((high - low) * i) / 200;
    const capture = { countsMean, temperature: truth.temperatureReference };
    const heightUm = (c: Body<'calibration'>, bias = c) =>
      captureHeightUm(c, {
        ...capture,
        gravityX: bias.gravityBiasX,
        gravityY: bias.gravityBiasY,
        gravityZ: 1e6 + bias.gravityBiasZ,
      }).heightUm;
    return Math.abs(heightUm(found, truth) - heightUm(truth)) / 1000;
  });
  return Math.max(...errors);
}

describe('a sensor that reads wrong by offset, gain and cubic', () => {
  test.each([11, 12, 13, 14])('fixture %d is calibrated to 0.05 mm over the whole range', async (seed) => {
    const shop = await openBench(seed);
    try {
      const begin = (at: FixtureAtHand) =>
        opened('calibration', calibrationSteps(NOMINAL_HEIGHT_MASTER, BLOCKS, at.calibrations));
      const spoil = await shop.link();
      await writeCalibrations(spoil, shop.fixture.trueCalibration.map(distorted));
      await spoil.close();
      const { calibrations, record } = await conductGauging(shop.gauging, begin, async (session, link) => {
        const found = calibrate(session, 365);
        return { record: found, calibrations: await writeCalibrations(link, found.calibrations) };
      });
      expect(record.faults).toEqual([]);
      expect(Math.max(...record.points.map((p) => Math.abs(p.foundMm)))).toBeGreaterThan(0.7);
      for (const [i, truth] of shop.fixture.trueCalibration.entries()) {
        const wrong = worstErrorMm(distorted(truth), truth);
        const left = worstErrorMm(calibrations[i], truth);
        console.log(`fixture ${seed}, head ${i}: ${wrong.toFixed(3)} mm before, ${left.toFixed(3)} mm after`);
        expect(wrong).toBeGreaterThan(0.8);
        expect(left).toBeLessThanOrEqual(0.05);
        expect(calibrations[i].setOnDay).toBe(Date.parse('2026-06-01') / 86_400_000);
      }
      // The greatest error is within the uncertainty that the record states.
      expect(record.worstExpandedMm).toBeLessThan(0.15);
    } finally {
      shop.close();
    }
  });
});

test('a calibration with a false gauge block is refused', async () => {
  const shop = await openBench(21);
  try {
    const put = shop.bench.put.bind(shop.bench);
    // The block that says 20 mm is really one of 20.6 mm.
    shop.bench.put = (place) => put(place.blockMm === 20 ? { ...place, blockMm: 20.6 } : place);
    const record = await conductGauging(
      shop.gauging,
      (at) => opened('calibration', calibrationSteps(NOMINAL_HEIGHT_MASTER, BLOCKS, at.calibrations)),
      (session) => Promise.resolve(calibrate(session, 365)),
    );
    expect(record.faults.join()).toContain('error left at');
  } finally {
    shop.close();
  }
});

test('edges and blocks that leave a gap are refused before anything is read', () => {
  const calibration = { headPosition: 0, edgeZ: -40_000 } as Body<'calibration'>;
  try {
    calibrationSteps(NOMINAL_HEIGHT_MASTER, [10, 20, 30], [calibration]);
    expect.unreachable();
  } catch (error) {
    expect((error as NumberedError).number).toBe(480);
  }
});

test('checks and a study go into the log; what was read is not asked again; jobs are told', async () => {
  const shop = await openBench(31);
  try {
    const steps = studySteps({
      tips: ['a', 'b', 'c', 'd', 'e'],
      technicians: ['Ann', 'Bo', 'Cy'],
      repeats: 3,
      seed: 4,
    });
    let left = 5;
    const interrupted = {
      ...shop.gauging,
      hands: {
        read: (...args: Parameters<typeof shop.gauging.hands.read>) => {
          left -= 1;
          return left < 0 ? Promise.reject(new Error('power cut')) : shop.gauging.hands.read(...args);
        },
      },
    };
    await expect(
      conductGauging(
        interrupted,
        () => opened('study', steps, []),
        () => Promise.resolve(),
      ),
    ).rejects.toThrow('power cut');
    expect(sessionInLog(shop.ledger, 1)?.nextStep).toBe(6);
    const session = await conductGauging(shop.gauging, 1, (done) => Promise.resolve(done));
    expect(session.readings.map((r) => r.step)).toEqual(steps.map((_, i) => i + 1));
    const width = placementStudy(studyReadings(session), { session: 1, source: 'study 1', on: '2026-06-01' });
    // The simulated clamp has 0.15 mm and its seat 0.02 mm.
    expect(width.placementSdMm).toBeGreaterThan(0.09);
    expect(width.placementSdMm).toBeLessThan(0.24);
    expect(width.placementMm).toBeGreaterThan(width.placementSdMm);
    shop.ledger.appendOfShop({ type: 'study accepted', on: '2026-06-01', by: 'invented', width });
    expect(placementInLog(shop.ledger)).toEqual(width);

    await conductGauging(
      shop.gauging,
      () => opened('check', checkSteps(NOMINAL_HEIGHT_MASTER, 0)),
      () => Promise.resolve(),
    );
    const [history] = historiesInLog(shop.ledger);
    expect(Math.abs(history?.checks[0]?.offsetMm ?? 9)).toBeLessThan(0.25);
    expect(noteInstruments(shop.ledger, 99, '2026-06-01').fixtures[0]?.check?.state).toBe('in control');
    expect(noteInstruments(shop.ledger, 100, '2026-06-09').fixtures[0]?.check?.state).toBe('overdue');
    shop.ledger.verify();
  } finally {
    shop.close();
  }
});

test('the order of a study is drawn from its seed and asks every clamping once', () => {
  const plan = { tips: ['a', 'b', 'c'], technicians: ['Ann', 'Bo'], repeats: 3, seed: 4 };
  const steps = studySteps(plan);
  expect(studySteps(plan)).toEqual(steps);
  expect(studySteps({ ...plan, seed: 5 })).not.toEqual(steps);
  expect(new Set(steps.map((s) => `${s.tip} ${s.technician} ${s.repeat}`)).size).toBe(18);
});
