/** How soon the daily check sees a fixture drift, and how often it stops a good one. The physics is that of the simulated bench. */
import { checkCharts, pointOf, signalsOfLast, type CheckPoint } from '../../host/gauging/daily-check';
import { daysAfter } from '../../host/gauging/equipment';
import { createBench } from '../../host/simulation/bench';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import { seededRandom, type Random } from '../../host/simulation/random';
import { tipHeightMm } from '../../protocol/solver';

export interface DailyCheckOptions {
  readonly runs: number;
  readonly seed: number;
  readonly driftMm: number;
  /** How the fixture sits on its master. */
  readonly seatSdMm: number;
}

export interface DailyCheckFigures extends DailyCheckOptions {
  /** Share of the runs in which the drift was seen on its first, second or third day. */
  readonly caughtShare: readonly [number, number, number];
  /** False alarms of each run in a year without a drift, ascending. */
  readonly falseAlarms: readonly number[];
}

/** Working days from the calibration to the drift, and of a year. */
const BEFORE_DAYS = 40;
const YEAR_DAYS = 250;
/** Left after calibration; invented, as are the days' temperatures. */
const OFFSET_SD_MM = 0.03;
const GAIN_SD = 0.0005;
const DRIFT_SD_PER_C = 0.00003;
const TEMPERATURE_SD_C = 3;
const NOISE_MM = 0.02;
const EDGES = [35, 85, 35, 85];

export function dailyCheckCampaign(options: DailyCheckOptions): DailyCheckFigures {
  const caught = [0, 0, 0];
  const falseAlarms: number[] = [];
  for (let run = 0; run < options.runs; run++) {
    const random = seededRandom(options.seed).split(`run ${run}`);
    const days = fixtureDays(random, options.seatSdMm);
    const points = Array.from({ length: YEAR_DAYS }, (_, i) => days(i, 0));
    falseAlarms.push(points.filter((_, i) => isAlarm(points.slice(0, i + 1))).length);
    const good = points.slice(0, BEFORE_DAYS);
    const drifted = [0, 1, 2].map((i) => days(BEFORE_DAYS + i, options.driftMm));
    const first = drifted.findIndex((_, i) => isAlarm([...good, ...drifted.slice(0, i + 1)]));
    for (let day = 0; day < 3; day++) if (first >= 0 && first <= day) caught[day] = (caught[day] ?? 0) + 1;
  }
  return {
    ...options,
    caughtShare: caught.map((c) => c / options.runs) as [number, number, number],
    falseAlarms: falseAlarms.sort((a, b) => a - b),
  };
}

function isAlarm(points: readonly CheckPoint[]): boolean {
  return signalsOfLast(checkCharts(points)).length > 0;
}

/** One fixture's checks: low, high, low, high on every day, seated anew each time, at the day's temperature. */
function fixtureDays(random: Random, seatSdMm: number): (day: number, driftMm: number) => CheckPoint {
  const bench = createBench({ body: EXAMPLE_BODY, random, seatSdMm });
  const offsetMm = random.normal(OFFSET_SD_MM);
  const gain = random.normal(GAIN_SD);
  const perC = random.normal(DRIFT_SD_PER_C);
  const head = EXAMPLE_BODY[0];
  return (day, driftMm) => {
    const warmerC = random.normal(TEMPERATURE_SD_C);
    const errors = EDGES.map((edgeMm) => {
      bench.put({ head: 0, edgeMm, blockMm: 0, turnDeg: 0 });
      const { distanceMm = NaN, forceG } = bench.sceneAt(0);
      const read =
        distanceMm +
        offsetMm +
        driftMm +
        (gain + perC * warmerC) * (distanceMm - 100) +
        random.normal(NOISE_MM);
      return tipHeightMm(head, read, forceG) - edgeMm;
    });
    return pointOf(daysAfter('2026-01-01', day), [errors[0], errors[2]], [errors[1], errors[3]]);
  };
}

export function dailyCheckText(figures: DailyCheckFigures): string[] {
  const { runs, driftMm, seatSdMm, caughtShare, falseAlarms } = figures;
  const at = (share: number) => falseAlarms[Math.min(runs - 1, Math.floor(share * runs))];
  return [
    `${runs} fixtures, seat ${seatSdMm} mm (sd): a drift of ${driftMm} mm, ${BEFORE_DAYS} checks after the calibration, is seen on its first day in ${percent(caughtShare[0])}, by the second in ${percent(caughtShare[1])}, by the third in ${percent(caughtShare[2])}`,
    `  false alarms in a year of ${YEAR_DAYS} checks without a drift: median ${at(0.5)}, 95 % of the fixtures at most ${at(0.95)}, none in ${percent(falseAlarms.filter((f) => f === 0).length / runs)}`,
  ];
}

const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
