import { edgesFor, headFor, NOMINAL_HEIGHT_MASTER } from '../gauging/height-master';
import {
  DECIDING_PROBABILITY,
  errorBudget,
  loadShare,
  readingsOnTarget,
  type ErrorBudget,
} from '../gauging/error-budget';
import {
  errorSources,
  HUB_RADIUS_MM,
  sampleNoiseMm,
  SENSOR_CLASSES,
  type SensorClass,
} from '../gauging/error-sources';
import { ASSUMED_WIDTHS } from '../gauging/widths';
import { loadProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { layoutOf, measureQuestions } from '../procedure/assess';
import { bothEnds } from '../procedure/reading-plan';
import { EXAMPLE_BODY } from '../simulation/body';
import { columns } from '../terminal/stage-text';
import { print, printJson } from './output';

export interface BudgetOptions {
  readonly machine: string;
  readonly json?: boolean;
}

/** Standard error that a job's captures wait for, fewest samples and samples a second: as `conduct` and the firmware have them. */
const STANDARD_ERROR_MM = 0.02;
const SAMPLES_MIN = 16;
const SAMPLES_PER_S = 250;

const BAYS = [
  { name: 'unsurveyed', floorMm: ASSUMED_WIDTHS.floorMm.value },
  { name: 'surveyed', floorMm: 0.3 },
] as const;
/** The class and the bay whose contributions are printed in full. */
const SHOWN = { sensor: 'compact', bay: 'surveyed' } as const;

export interface ClassBudget {
  readonly sensor: SensorClass;
  readonly bay: string;
  readonly floorMm: number;
  readonly budget: ErrorBudget;
}

/** Errors: 301-305. */
export function budget(options: BudgetOptions): Promise<number> {
  const profile = loadProfile(options.machine);
  const budgets = budgetsOf(profile);
  if (options.json === true) {
    printJson({ machine: profile.model, reach: SENSOR_CLASSES.map(reachOf), budgets });
  } else print(...budgetText(profile, budgets));
  return Promise.resolve(0);
}

/** The budget of a machine's first sequence of readings for every class of sensor in every kind of bay. */
export function budgetsOf(profile: MachineProfile): ClassBudget[] {
  const layout = layoutOf(profile);
  const questions = measureQuestions(profile);
  const readings = readingsOnTarget(layout, questions, tipsOf(profile));
  const { lowMm, highMm } = edgesFor(NOMINAL_HEIGHT_MASTER, headFor(profile.cutHeightMm));
  const at = { layout, questions, readings, heightReferenceMm: (lowMm + highMm) / 2 };
  const fixture = {
    leverMm: leverMm(profile.cutHeightMm),
    bladeLengthsMm: profile.spindles.map((s) => s.tipRadiusMm - HUB_RADIUS_MM),
    loadShares: readings.map((reading) => loadShare(layout, profile.hangers, reading)),
    standardErrorMm: STANDARD_ERROR_MM,
  };
  return BAYS.flatMap(({ name, floorMm }) =>
    SENSOR_CLASSES.map((sensor) => ({
      sensor,
      bay: name,
      floorMm,
      budget: errorBudget(at, errorSources(sensor, { ...fixture, floorMm })),
    })),
  );
}

function tipsOf(profile: MachineProfile) {
  return bothEnds(profile, true).map((tip) => ({
    spindle: profile.spindles.findIndex((s) => s.name === tip.spindle),
    headingDeg: tip.headingDeg,
    end: tip.end === 'A' ? (1 as const) : (-1 as const),
  }));
}

/** Horizontal distance between edge and spot of a level head over the floor. */
function leverMm(cutHeightMm: number): number {
  const { edgeMm, beam } = EXAMPLE_BODY[headFor(cutHeightMm)];
  const distanceMm = (cutHeightMm - edgeMm[2]) / -beam[2];
  return Math.sqrt((distanceMm * beam[0] - edgeMm[0]) ** 2 + (distanceMm * beam[1] - edgeMm[1]) ** 2);
}

/** Cut heights that a level head sees, low and high position. */
function reachOf(sensor: SensorClass) {
  return {
    sensor: sensor.name,
    positions: EXAMPLE_BODY.map(({ edgeMm, beam }) => ({
      fromMm: edgeMm[2] - sensor.nearestMm * beam[2],
      toMm: edgeMm[2] - sensor.farthestMm * beam[2],
    })),
  };
}

/** What the command prints, line by line. */
export function budgetText(profile: MachineProfile, budgets: readonly ClassBudget[]): string[] {
  const shown = budgets.find((b) => b.sensor.name === SHOWN.sensor && b.bay === SHOWN.bay);
  if (shown === undefined) throw new Error('the class that is shown in full is not in the list');
  const readings = tipsOf(profile).length;
  return [
    `Error budget: ${profile.model}, cut height ${profile.cutHeightMm} mm, one seating, ${readings} readings`,
    '',
    ...classLines(),
    '',
    `Standard uncertainty in mm from each source: ${SHOWN.sensor} class, ${SHOWN.bay} bay (floor ${shown.floorMm} mm)`,
    ...contributionLines(shown.budget),
    '',
    'Where the values come from (assumed unless it says otherwise)',
    ...columns(shown.budget.contributions.map((c) => [c.name, c.reason])),
    '',
    'Width of the tip model: what the sources add up to, and what the tool assumes',
    ...widthLines(shown.budget),
    '',
    `What can be decided: P(accept | centred) at least ${percent(DECIDING_PROBABILITY)}. Of each class: U (k = 2) in mm,`,
    'test uncertainty ratio, tightest +/- limits that it decides in mm, P(accept | centred)',
    ...decisionLines(profile, budgets),
  ];
}

function classLines(): string[] {
  return columns([
    ['class', 'range', 'linearity', 'noise', 'drift', 'low head', 'high head', 'samples'],
    ...SENSOR_CLASSES.map((sensor) => {
      const [low, high] = reachOf(sensor).positions.map(
        ({ fromMm, toMm }) => `${fromMm.toFixed(0)}-${toMm.toFixed(0)}`,
      );
      const samples = Math.max(SAMPLES_MIN, Math.ceil((sampleNoiseMm(sensor) / STANDARD_ERROR_MM) ** 2));
      return [
        sensor.name,
        `${sensor.nearestMm}-${sensor.farthestMm} mm`,
        `${sensor.linearityPercent} %`,
        `${sensor.noiseMm} mm`,
        `${sensor.driftPercentPerC} %/C`,
        `${low} mm`,
        `${high} mm`,
        `${samples} in ${(samples / SAMPLES_PER_S).toFixed(2)} s`,
      ];
    }),
  ]);
}

function contributionLines({ contributions, measures, unexplained }: ErrorBudget): string[] {
  const sorted = [...contributions].sort((a, b) => Math.max(...b.perMeasureMm) - Math.max(...a.perMeasureMm));
  const numbers = (values: readonly number[]) => values.map((v) => v.toFixed(3));
  return [
    ...columns([
      ['source', 'value', 'enters as', ...measures.map((m) => m.name)],
      ...sorted.map((c) => [
        c.name,
        `${Number(c.value.toPrecision(2))}`,
        c.entersAs,
        ...numbers(c.perMeasureMm),
      ]),
      ['combined u', '', '', ...numbers(measures.map((m) => m.standardUncertaintyMm))],
    ]),
    `The squares of the sources add up to the variance within ${(100 * unexplained).toPrecision(1)} %.`,
  ];
}

function widthLines({ widths }: ErrorBudget): string[] {
  const compared = ['placementMm', 'textureMm', 'offsetMm', 'gain'] as const;
  return columns([
    ['width', 'budget', 'assumed'],
    ...compared.map((name) => [
      name,
      `${Number(widths[name].toPrecision(2))}`,
      `${ASSUMED_WIDTHS[name].value}`,
    ]),
  ]);
}

/** One row for each bay and measure; each class gives U, test uncertainty ratio, tightest limits decided, P(accept). */
function decisionLines(profile: MachineProfile, budgets: readonly ClassBudget[]): string[] {
  const rows = BAYS.flatMap((bay) => {
    const here = budgets.filter((b) => b.bay === bay.name).map((b) => b.budget);
    const cells = (i: number) =>
      here.map(({ measures }) => {
        const m = measures[i];
        if (m === undefined) return '';
        const numbers = [m.expandedMm, m.testUncertaintyRatio, m.tightestMm].map((v) => v.toFixed(2));
        return `${numbers.join('  ')}  ${percent(m.acceptsCentred)}`;
      });
    return [
      ...profile.measures.map((m, i) => [bay.name, m.name, `${m.lowerMm} to ${m.upperMm}`, ...cells(i)]),
      [bay.name, 'all together', '', ...here.map((b) => `${decided(b)}  ${percent(b.acceptsCentred)}`)],
    ];
  });
  return columns([['bay', 'measure', 'limits', ...SENSOR_CLASSES.map((s) => s.name)], ...rows]);
}

function decided({ acceptsCentred }: ErrorBudget): string {
  return acceptsCentred >= DECIDING_PROBABILITY ? 'decided' : 'NOT DECIDED';
}

/** Rounded down, so that it never rounds up to what is wanted. */
function percent(share: number): string {
  return `${(Math.floor(share * 1000) / 10).toFixed(1)} %`;
}
