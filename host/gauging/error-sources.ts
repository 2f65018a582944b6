/**
 * What makes a reading wrong, source by source, before any repeatability study has been made: the figures behind the error
 * budget. Every value is a standard deviation with its reason; hardware-notes/error-budget.md explains them.
 */
import { ASSUMED_WIDTHS, type WidthName } from './widths';

/** What data sheets of a class of laser distance sensors state. Orders of magnitude of the class, from memory, no brand. */
export interface SensorClass {
  readonly name: string;
  readonly nearestMm: number;
  readonly farthestMm: number;
  /** Greatest departure from a straight line, in % of the span. */
  readonly linearityPercent: number;
  /** Standard deviation of one sample. */
  readonly noiseMm: number;
  /** Drift of the reading, in % of the span for each degree. */
  readonly driftPercentPerC: number;
  /** What a still spot shows wrongly whatever the number of samples: speckle, colour edges, penetration. */
  readonly surfaceMm: number;
}

export const SENSOR_CLASSES: readonly SensorClass[] = [
  {
    name: 'measuring',
    nearestMm: 75,
    farthestMm: 125,
    linearityPercent: 0.1,
    noiseMm: 0.01,
    driftPercentPerC: 0.01,
    surfaceMm: 0.01,
  },
  {
    name: 'compact',
    nearestMm: 65,
    farthestMm: 135,
    linearityPercent: 0.2,
    noiseMm: 0.07,
    driftPercentPerC: 0.03,
    surfaceMm: 0.03,
  },
  {
    name: 'time of flight',
    nearestMm: 50,
    farthestMm: 450,
    linearityPercent: 0.5,
    noiseMm: 1,
    driftPercentPerC: 0.03,
    surfaceMm: 0.5,
  },
];

/** The fixture on a tip of this machine. */
export interface OnMachine {
  /** From the cutting edge to the spot, horizontally: what an error of the tilt is multiplied by. */
  readonly leverMm: number;
  /** Of each blade: from the edge of the hub's washer to the tip. */
  readonly bladeLengthsMm: readonly number[];
  /** For each tip read: its load shared out to the hangers, as in `loadShare`. */
  readonly loadShares: readonly number[];
  /** Standard error that a capture waits for. */
  readonly standardErrorMm: number;
  /** Standard deviation of the floor's unevenness under this machine. */
  readonly floorMm: number;
}

/** One source. `entersAs`: the width of the tip model that it is a part of; `noise` is the standard error of a capture. */
export interface ErrorSource {
  readonly name: string;
  readonly entersAs: Exclude<WidthName, 'floorLengthMm'> | 'noise';
  /** In the unit of that width. */
  readonly value: number;
  readonly reason: string;
}

/** Weight of fixture and clamp with what hangs of the cable: 0.35 kg. Design figure. */
export const FIXTURE_N = 0.35 * 9.81;
/** Blade section of the worked example: flat steel, 60 mm by 5 mm. Invented; common practice, no source. */
export const BLADE = { widthMm: 60, thicknessMm: 5, modulusMpa: 205_000 } as const;
/** Radius of the washer that clamps a blade to its hub: the cantilever begins there. Common practice, no source. */
export const HUB_RADIUS_MM = 25;
/** How far one hanger with bracket and shell gives: 100 N for a millimetre. Assumed, no source. */
const HANGER_N_PER_MM = 100;
const CABLE_N = 0.2;
const TILT_RAD = 0.001;
/** The plate of the height master against level. */
const LEVEL_RAD = 0.0005;
/** How far the temperature moves between the opening reading and the last tip, and away from that of the calibration. */
const DURING_JOB_C = 2;
const SINCE_CALIBRATION_C = 10;
/** Share of a stated linearity that is left after 16 knots, and of a stated drift after the calibration's correction. */
const LINEARITY_LEFT = 0.2;
const DRIFT_LEFT = 0.1;
/** Bracket between clamp and sensor: 80 mm of aluminium, 23e-6 for each degree (general engineering figure, from memory). */
const BRACKET_MM_PER_C = 80 * 23e-6;
const ROOT_3 = Math.sqrt(3);

/** Series and ground resistor of the converter's input, and how far either drifts apart from the other. */
export const DIVIDER = { seriesOhm: 10_000, groundOhm: 15_000, driftPerC: 25e-6 } as const;
/** Greatest drift of the converter's gain with its reference: data sheet of the ADS1115 class, 40 ppm a degree. */
const CONVERTER_DRIFT_PER_C = 40e-6;
/** One conversion's noise; data sheet of the class, from memory: below one count of 125 uV at 860 a second. */
const CONVERTER_COUNTS = 0.8;
const COUNT_V = 125e-6;
/** What the divider makes of the sensor's 1 to 5 V over its span: 0.6 to 3 V. */
const SPAN_V = (4 * DIVIDER.groundOhm) / (DIVIDER.seriesOhm + DIVIDER.groundOhm);

/** Sag of a tip under the fixture's weight: a cantilever, F L^3 / (3 E I) with I = b t^3 / 12. */
export function bladeSagMm(lengthMm: number, forceN = FIXTURE_N): number {
  const { widthMm, thicknessMm, modulusMpa } = BLADE;
  const inertiaMm4 = (widthMm * thicknessMm ** 3) / 12;
  return (forceN * lengthMm ** 3) / (3 * modulusMpa * inertiaMm4);
}

/** Relative change of the divider's ratio: (R1 / (R1 + R2)) (dR2 / R2 - dR1 / R1), both drifting by themselves. */
export function dividerDrift(changeC: number): number {
  const { seriesOhm, groundOhm, driftPerC } = DIVIDER;
  return (seriesOhm / (seriesOhm + groundOhm)) * Math.SQRT2 * (driftPerC / ROOT_3) * changeC;
}

/** Standard deviation of one sample: sensor and converter together. */
export function sampleNoiseMm(sensor: SensorClass): number {
  const converterMm = (CONVERTER_COUNTS * COUNT_V * (sensor.farthestMm - sensor.nearestMm)) / SPAN_V;
  return Math.sqrt(sensor.noiseMm ** 2 + converterMm ** 2);
}

/** Everything that makes a reading wrong, with a sensor of this class on this machine. */
export function errorSources(sensor: SensorClass, on: OnMachine): ErrorSource[] {
  return [...instrumentSources(sensor, on), ...clampSources(on), ...surroundingSources(sensor, on)];
}

function instrumentSources(sensor: SensorClass, on: OnMachine): ErrorSource[] {
  const spanMm = sensor.farthestMm - sensor.nearestMm;
  const driftMmPerC = (sensor.driftPercentPerC / 100) * spanMm;
  const source = (
    name: string,
    entersAs: ErrorSource['entersAs'],
    value: number,
    reason: string,
  ): ErrorSource => ({ name, entersAs, value, reason });
  return [
    source(
      'linearisation',
      'offsetMm',
      (LINEARITY_LEFT * (sensor.linearityPercent / 100) * spanMm) / ROOT_3,
      'a fifth of the stated linearity is ripple that 16 knots do not follow; the same at all tips of one deck',
    ),
    source(
      'temperature since opening',
      'offsetMm',
      DURING_JOB_C * Math.sqrt(driftMmPerC ** 2 + BRACKET_MM_PER_C ** 2),
      'sensor and bracket, 2 degrees between opening reading and last tip',
    ),
    source('height master, edges', 'offsetMm', 0.03, 'certificate of the edges, k = 1: see height-master.md'),
    source('height master, seat', 'offsetMm', 0.02, 'fixture set on the edge, pin of the head'),
    source('height master, level', 'offsetMm', LEVEL_RAD * on.leverMm, '0.5 mm/m, from edge to spot'),
    source(
      'temperature since calibration',
      'gain',
      DRIFT_LEFT * (sensor.driftPercentPerC / 100) * SINCE_CALIBRATION_C,
      '10 degrees; the calibration takes nine tenths of the drift off',
    ),
    source('slope of the calibration', 'gain', 0.0005, 'knots set against gauge blocks'),
    source('divider drift', 'gain', dividerDrift(SINCE_CALIBRATION_C), 'two resistors of 25 ppm a degree'),
    source(
      'converter drift',
      'gain',
      (CONVERTER_DRIFT_PER_C / ROOT_3) * SINCE_CALIBRATION_C,
      'gain and reference, 40 ppm a degree at most',
    ),
    source(
      'noise, sensor and converter',
      'noise',
      on.standardErrorMm,
      'what a capture waits for, whatever the class',
    ),
  ];
}

function clampSources(on: OnMachine): ErrorSource[] {
  const sags = on.bladeLengthsMm.map((lengthMm) => bladeSagMm(lengthMm));
  const yields = on.loadShares.map((share) => (FIXTURE_N * share) / HANGER_N_PER_MM);
  const cableMm =
    CABLE_N * (Math.max(...on.loadShares) / HANGER_N_PER_MM + bladeSagMm(Math.max(...on.bladeLengthsMm), 1));
  return [
    {
      name: 'clamp seat',
      entersAs: 'placementMm',
      value: 0.2,
      reason: 'worn, nicked or painted flat behind the edge; assumed until a study is accepted',
    },
    {
      name: 'tilt reference, lever arm',
      entersAs: 'placementMm',
      value: TILT_RAD * on.leverMm,
      reason: '1 mrad of the motion part, from edge to spot',
    },
    {
      name: 'cable force',
      entersAs: 'placementMm',
      value: cableMm,
      reason: '0.2 N, through blade and hangers',
    },
    {
      name: 'blade sag, mean',
      entersAs: 'offsetMm',
      value: meanOf(sags),
      reason: 'F L^3 / 3 E I; the tool does not correct it, so its whole size counts',
    },
    {
      name: 'blade sag, differences',
      entersAs: 'placementMm',
      value: Math.sqrt(spreadOf(sags) ** 2 + (0.15 * meanOf(sags)) ** 2),
      reason: 'blade lengths; 5 % of thickness are 15 % of the sag',
    },
    {
      name: 'deck yields, mean',
      entersAs: 'offsetMm',
      value: meanOf(yields),
      reason: 'the weight of the fixture on hangers of 100 N/mm, not corrected',
    },
    {
      name: 'deck yields, differences',
      entersAs: 'placementMm',
      value: spreadOf(yields),
      reason: 'tips outside the hangers yield more than those between',
    },
  ];
}

function surroundingSources(sensor: SensorClass, on: OnMachine): ErrorSource[] {
  const assumed = (name: string, width: Exclude<WidthName, 'floorLengthMm'>): ErrorSource => ({
    name,
    entersAs: width,
    value: ASSUMED_WIDTHS[width].value,
    reason: ASSUMED_WIDTHS[width].reason,
  });
  return [
    {
      name: 'floor',
      entersAs: 'floorMm',
      value: on.floorMm,
      reason: 'unevenness under wheels and spots, alike over 1 m; by survey, or assumed without one',
    },
    assumed('floor texture', 'textureMm'),
    {
      name: 'surface under a still spot',
      entersAs: 'textureMm',
      value: sensor.surfaceMm,
      reason: 'speckle and colour edges, by class',
    },
    assumed('heading by eye', 'headingDeg'),
    assumed('heading, habit', 'headingHabitDeg'),
    assumed('seating, height', 'seatingHeightMm'),
    assumed('seating, slope', 'seatingSlopeRad'),
    assumed('spindle height', 'spindleHeightMm'),
    assumed('spindle tilt', 'spindleTiltRad'),
    assumed('bend of the blades', 'bendMm'),
    assumed('bent shaft, hub face', 'shaftMm'),
  ];
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Standard deviation of the values about their mean, all of them known. */
function spreadOf(values: readonly number[]): number {
  const middle = meanOf(values);
  return Math.sqrt(meanOf(values.map((value) => (value - middle) ** 2)));
}
