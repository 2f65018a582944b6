/**
 * From the captures of a calibration session to the calibrations: one curve of the sensor for both head positions, the place
 * of the edge of the high head, the zero of the motion part, and an uncertainty budget after the GUM. All of it is one
 * least-squares problem for the engine: distance = curve(counts) + offset of the high head (+ drift with temperature).
 */
import { linearise, upward } from '../../../protocol/solver';
import type { Body } from '../../../protocol/wire/messages';
import { numberedError } from '../../errors/errors';
import { daysAfter } from '../equipment';
import type { Session } from '../session';
import { fromHalfWidth, uncertaintyBudget, type Budget } from '../statistics/budget';
import { leastSquares, legendre, type Fit } from '../statistics/fit';
import { grouped, meanOf, rangeOf } from '../statistics/spread';
import type { EdgeStep } from './plan';
import { hasDrawnGeometry, isUncalibrated } from './first';
import { APART_C } from './temperature';
import { zeroOfMotion, type EdgeReading, type Zero } from './zero';
import {
  CALIBRATION_DAYS,
  CALIBRATION_LIMITS,
  type CalibrationPoint,
  type CalibrationRecord,
} from './record';

type Calibration = Body<'calibration'>;

const DAY_MS = 86_400_000;
/** Degrees away from those of the calibration at which the fixture may be used by the budget. */
const USED_WITHIN_C = 5;
/** Standard uncertainty of a drift that was not measured: a tenth of a data sheet's 0.03 % of 70 mm, relative to 100 mm. */
const DRIFT_UNKNOWN_PER_C = 0.00006;
/** Lips against the plate, half width (height-master.md: 0.02 mm over 60 mm); expansion of steel, general engineering figure. */
const LEVEL_RAD = 0.0005;
const EXPANSION_PER_C = 11.5e-6;
/** A drawing's beam and edge: a lean of 0.5 degrees over 100 mm and 0.5 mm, half widths, and how far the fixture leans. */
const DRAWN_MM = 1;
const LEAN_RAD = 0.0175;
/** Knots on the curve; one more at either end goes on straight to the end of the laser's span. */
const KNOTS = 14;
const SPAN_MM = [64.5, 135.5] as const;

/** The record of a session, `faults` telling whether it may be written. Throws 480 when the readings determine no curve. */
export function calibrate(session: Session): CalibrationRecord {
  const { opened } = session;
  const readings = session.readings.filter((r): r is EdgeReading => r.target.kind === 'edge');
  const old = new Map(opened.calibrations.map((c) => [c.headPosition, c]));
  const zero = zeroOfMotion(readings.filter((r) => r.target.elsewhere !== true));
  const ladder = readings.filter((r) => r.target.turnDeg === 0);
  const curve = fitCurve(ladder, old, zero);
  const calibrations = [...old.values()].map((c) => newCalibration(c, curve, zero.bias, opened.on));
  const points = pointsOf(ladder, old, calibrations, zero);
  const budgets = budgetsOf(session, points, curve, old);
  const worstExpandedMm = Math.max(...budgets.map((b) => b.budget.expanded));
  const worstLeftMm = Math.max(...points.map((p) => Math.abs(p.leftMm)));
  const gainDifference = gainDifferenceOf(ladder, old, zero, curve);
  const record = {
    fixtureId: opened.fixture.fixtureId,
    firmwareVersion: opened.fixture.firmwareVersion,
    on: opened.on,
    due: daysAfter(opened.on, opened.days ?? CALIBRATION_DAYS),
    by: opened.technician,
    simulated: opened.simulated,
    references: opened.references,
    ...([...old.values()].some(isUncalibrated) ? { first: true as const } : {}),
    degree: curve.degree,
    points,
    sMm: curve.fit.s,
    degreesOfFreedom: curve.fit.degreesOfFreedom,
    ...(curve.highHeadMm === undefined ? {} : { highHeadOffsetMm: curve.highHeadMm }),
    ...(gainDifference === undefined ? {} : { gainDifference }),
    gravityBiasUg: zero.bias,
    shelfMmPerM: [zero.shelfUg[0] / 1000, zero.shelfUg[1] / 1000] as const,
    temperature: curve.temperature,
    budgets,
    worstExpandedMm,
    worstLeftMm,
    calibrations,
  };
  return { ...record, faults: faultsOf(record) };
}

function faultsOf(record: Omit<CalibrationRecord, 'faults'>): string[] {
  const { worstExpandedMm, worstLeftMm, sMm, gainDifference: gain, shelfMmPerM } = record;
  const limits = CALIBRATION_LIMITS;
  const worst = record.points.find((p) => Math.abs(p.leftMm) === worstLeftMm);
  const over = (what: string, value: number, limit: number, unit: string) =>
    value > limit ? [`${what} ${value.toPrecision(2)}${unit}, limit ${limit}${unit}`] : [];
  return [
    ...over('expanded uncertainty', worstExpandedMm, limits.expandedMm, ' mm'),
    ...over(`error left at ${(worst?.heightMm ?? 0).toFixed(2)} mm:`, worstLeftMm, limits.leftMm, ' mm'),
    ...over('spread of a reading', sMm, limits.spreadMm, ' mm'),
    ...over(
      'heads differ in gain by',
      gain === undefined ? 0 : Math.abs(gain.value) - 2 * gain.standardUncertainty,
      limits.gainDifference,
      '',
    ),
    ...over('shelf slopes by', Math.max(...shelfMmPerM.map(Math.abs)), limits.shelfMmPerM, ' mm/m'),
  ];
}

interface Curve {
  readonly fit: Fit;
  readonly degree: number;
  readonly lowCounts: number;
  readonly highCounts: number;
  /** Row of the fit for a reading of the low head at the reference temperature. */
  row(counts: number): number[];
  readonly highHeadMm: number | undefined;
  readonly temperature: CalibrationRecord['temperature'];
}

function fitCurve(ladder: readonly EdgeReading[], old: ReadonlyMap<number, Calibration>, zero: Zero): Curve {
  const rungs = new Set(ladder.map((r) => `${r.target.head} ${heightOf(r.target)}`)).size;
  const degree = rungs >= 11 ? 5 : rungs >= 6 ? 3 : 1;
  const counts = ladder.map((r) => r.capture.countsMean);
  const lowCounts = Math.min(...counts);
  const highCounts = Math.max(...counts);
  const temperatures = ladder.map((r) => r.capture.temperature / 100);
  const referenceC = meanOf(temperatures);
  const spanC = rangeOf(temperatures);
  const heads = new Set(ladder.map((r) => r.target.head));
  const both = heads.size > 1;
  const oldPerC = ([...old.values()][0]?.temperatureGain ?? 0) / 1e9;
  const measured = spanC >= APART_C;
  const known = ladder.map((r) => knownDistanceMm(r, old, zero));
  const scaled = (c: number) => (2 * (c - lowCounts)) / (highCounts - lowCounts) - 1;
  const extra = [...(both ? [0] : []), ...(measured ? [0] : [])];
  const rows = ladder.map((r, i) => [
    ...legendre(scaled(r.capture.countsMean), degree),
    ...(both ? [r.target.head] : []),
    ...(measured ? [known[i] * (temperatures[i] - referenceC)] : []),
  ]);
  // A drift that is not measured is taken off by the old calibration's value.
  const observed = known.map((d, i) => (measured ? d : d / (1 + oldPerC * (temperatures[i] - referenceC))));
  const fit = leastSquares(rows, observed);
  if (fit === undefined || !(highCounts > lowCounts))
    throw numberedError('calibration not good enough', `${rungs} known heights determine no curve`);
  return {
    fit,
    degree,
    lowCounts,
    highCounts,
    row: (c) => [...legendre(scaled(c), degree), ...extra],
    highHeadMm: both ? fit.coefficients[degree + 1] : undefined,
    temperature: {
      meanC: referenceC,
      spanC,
      perC: measured ? (fit.coefficients.at(-1) ?? 0) : oldPerC,
      measured,
    },
  };
}

const heightOf = (target: EdgeStep) => target.edgeMm - target.blockMm;

/**
 * Distance along the beam at which the known height would be read: h = n.e - d (n.u) solved for d. The certificate's heights
 * stand square on the plate, so n is the plate's upright: gravity less the slope of the shelf.
 */
function knownDistanceMm(
  reading: EdgeReading,
  old: ReadonlyMap<number, Calibration>,
  { bias: [biasX, biasY, gravityBiasZ], shelfUg }: Zero,
): number {
  const calibration = old.get(reading.target.head);
  if (calibration === undefined)
    throw numberedError('calibration not good enough', 'a head position has no calibration to begin from');
  const zeroed = { ...calibration, gravityBiasX: biasX, gravityBiasY: biasY, gravityBiasZ };
  // Elsewhere the master stands as its vial says: that shelf's slope was not measured.
  const { toEdgeMm, along } = plumb(
    reading.target.elsewhere === true ? zeroed : onShelf(zeroed, shelfUg),
    reading.capture,
  );
  return (toEdgeMm - heightOf(reading.target)) / along;
}

function newCalibration(
  old: Calibration,
  curve: Curve,
  bias: readonly [number, number, number],
  on: string,
): Calibration {
  const { fit, lowCounts, highCounts, highHeadMm = 0, temperature } = curve;
  const step = (highCounts - lowCounts) / (KNOTS - 1);
  const onCurve = Array.from({ length: KNOTS }, (_, i): Knot => {
    const counts = Math.round(lowCounts + i * step);
    return [counts, fit.at(curve.row(counts)).value];
  });
  const [first, second] = onCurve;
  const [last, before] = [onCurve[KNOTS - 1], onCurve[KNOTS - 2]];
  const rises = last[1] > first[1];
  const [low, high] = rises ? SPAN_MM : [SPAN_MM[1], SPAN_MM[0]];
  const all = [beyond(first, second, low), ...onCurve, beyond(last, before, high)];
  const knots = all.flatMap((knot) => (knot === undefined ? [] : [knot[0], Math.round(knot[1] * 1000)]));
  const shift = old.headPosition === 1 ? Math.round(highHeadMm * 1000) : 0;
  return {
    ...old,
    version: old.version + 1,
    setOnDay: Math.round(Date.parse(`${on}T00:00:00Z`) / DAY_MS),
    edgeZ: old.edgeZ + shift,
    gravityBiasX: bias[0],
    gravityBiasY: bias[1],
    gravityBiasZ: bias[2],
    temperatureReference: Math.round(temperature.meanC * 100),
    temperatureGain: Math.round(temperature.perC * 1e9),
    knots,
  };
}

type Knot = readonly [counts: number, distanceMm: number];

/** The straight line through an end of the curve and its neighbour, as far as a distance; undefined when that lies inside. */
function beyond(end: Knot, inner: Knot, distanceMm: number): Knot | undefined {
  const perMm = (end[0] - inner[0]) / (end[1] - inner[1]);
  const counts = Math.round(end[0] + (distanceMm - end[1]) * perMm);
  return (counts - end[0]) * (end[0] - inner[0]) > 0 ? [counts, distanceMm] : undefined;
}

function pointsOf(
  ladder: readonly EdgeReading[],
  old: ReadonlyMap<number, Calibration>,
  calibrations: readonly Calibration[],
  { shelfUg }: Zero,
): CalibrationPoint[] {
  const here = ladder.filter((r) => r.target.elsewhere !== true);
  const groups = grouped(here, (r) => `${r.target.head} ${r.target.edgeMm} ${r.target.blockMm}`);
  return [...groups.values()].map((group) => {
    const { head, edgeMm, blockMm } = group[0].target;
    const heightMm = heightOf(group[0].target);
    const errorBy = (calibration: Calibration | undefined) =>
      calibration === undefined
        ? NaN
        : meanOf(group.map((r) => exactHeightMm(onShelf(calibration, shelfUg), r.capture))) - heightMm;
    return {
      head,
      edgeMm,
      blockMm,
      heightMm,
      readings: group.length,
      foundMm: errorBy(old.get(head)),
      leftMm: errorBy(calibrations.find((c) => c.headPosition === head)),
    };
  });
}

/** With the plate's upright taken for plumb. */
function onShelf(calibration: Calibration, [x, y]: readonly [number, number]): Calibration {
  const { gravityBiasX, gravityBiasY } = calibration;
  return { ...calibration, gravityBiasX: gravityBiasX + x, gravityBiasY: gravityBiasY + y };
}

/** The height that a calibration gives, not rounded. */
function exactHeightMm(calibration: Calibration, capture: Body<'captured'>): number {
  const { distanceUm } = linearise(calibration.knots, capture.countsMean);
  const warmer = (capture.temperature - calibration.temperatureReference) / 100;
  const d = (distanceUm / 1000) * (1 + (calibration.temperatureGain / 1e9) * warmer);
  const { toEdgeMm, along } = plumb(calibration, capture);
  return toEdgeMm - d * along;
}

/** Upward components of the way from the sensor to the edge, and of the beam. */
function plumb(calibration: Calibration, capture: Body<'captured'>): { toEdgeMm: number; along: number } {
  const up = upward(calibration, capture);
  const length = Math.sqrt(up[0] ** 2 + up[1] ** 2 + up[2] ** 2);
  const { edgeX, edgeY, edgeZ, beamX, beamY, beamZ } = calibration;
  return {
    toEdgeMm: (up[0] * edgeX + up[1] * edgeY + up[2] * edgeZ) / length / 1000,
    along: (up[0] * beamX + up[1] * beamY + up[2] * beamZ) / length / 1e9,
  };
}

/** Whether the two heads see the same gain: the fit once more with a slope of the high head's own. */
function gainDifferenceOf(
  ladder: readonly EdgeReading[],
  old: ReadonlyMap<number, Calibration>,
  zero: Zero,
  curve: Curve,
): CalibrationRecord['gainDifference'] {
  if (curve.highHeadMm === undefined) return undefined;
  const known = ladder.map((r) => knownDistanceMm(r, old, zero));
  const middle = meanOf(known);
  const left = ladder.map((r, i) => {
    const drift = curve.temperature.perC * known[i] * (r.capture.temperature / 100 - curve.temperature.meanC);
    const offset = r.target.head === 1 ? (curve.highHeadMm ?? 0) : 0;
    return known[i] - curve.fit.at(curve.row(r.capture.countsMean)).value - offset - drift;
  });
  const rows = ladder.map((r, i) => [
    1,
    known[i] - middle,
    r.target.head,
    r.target.head * (known[i] - middle),
  ]);
  const fit = leastSquares(rows, left);
  if (fit === undefined) return undefined;
  return { value: fit.coefficients[3], standardUncertainty: fit.standardUncertainties[3] };
}

function budgetsOf(
  { opened }: Session,
  points: readonly CalibrationPoint[],
  curve: Curve,
  old: ReadonlyMap<number, Calibration>,
): { head: 0 | 1; heightMm: number; budget: Budget }[] {
  return ([0, 1] as const).flatMap((head) => {
    const own = points.filter((p) => p.head === head).sort((a, b) => a.heightMm - b.heightMm);
    const calibration = old.get(head);
    if (own.length === 0 || calibration === undefined) return [];
    const chosen = [own[0], own[Math.floor(own.length / 2)], own[own.length - 1]];
    return chosen.map(({ heightMm }) => ({
      head,
      heightMm,
      budget: budgetAt(heightMm, heightMm - calibration.edgeZ / 1000, opened.references, curve, calibration),
    }));
  });
}

function budgetAt(
  heightMm: number,
  distanceMm: number,
  references: CalibrationRecord['references'],
  curve: Curve,
  calibration: Calibration,
): Budget {
  const certificate = (kind: 'height master' | 'gauge blocks') => {
    const found = references.find((r) => r.kind === kind);
    return {
      u: (found?.expandedUncertainty ?? 0) / 2,
      source: `certificate ${found?.certificate ?? '-'}, U / 2`,
    };
  };
  const master = certificate('height master');
  const blocks = certificate('gauge blocks');
  const { fit, temperature } = curve;
  const driftU = temperature.measured ? (fit.standardUncertainties.at(-1) ?? 0) : DRIFT_UNKNOWN_PER_C;
  const leverMm = Math.sqrt(calibration.edgeX ** 2 + calibration.edgeY ** 2) / 1000;
  return uncertaintyBudget([
    {
      name: 'curve through the readings',
      type: 'A',
      standardUncertainty: fit.at(curve.row(countsAt(distanceMm, curve))).standardUncertainty,
      degreesOfFreedom: fit.degreesOfFreedom,
      source: `least squares, spread of a reading ${fit.s.toFixed(3)} mm`,
    },
    { name: 'height master', type: 'B', standardUncertainty: master.u, source: master.source },
    { name: 'gauge blocks', type: 'B', standardUncertainty: blocks.u, source: blocks.source },
    {
      name: 'lips against plate',
      type: 'B',
      standardUncertainty: fromHalfWidth(LEVEL_RAD, 'rectangular'),
      sensitivity: leverMm,
      source: '0.5 mm/m at most, from edge to spot',
    },
    {
      name: 'expansion of the master',
      type: 'B',
      standardUncertainty: fromHalfWidth(Math.max(1, Math.abs(temperature.meanC - 20)), 'rectangular'),
      sensitivity: EXPANSION_PER_C * heightMm,
      source: 'steel, away from 20 degrees',
    },
    ...(hasDrawnGeometry(calibration)
      ? [
          {
            name: 'beam and edge as drawn',
            type: 'B' as const,
            standardUncertainty: fromHalfWidth(DRAWN_MM, 'rectangular'),
            sensitivity: LEAN_RAD,
            source: 'not measured; clamped within 1 degree of upright',
          },
        ]
      : []),
    {
      name: 'drift with temperature',
      type: 'B',
      standardUncertainty: driftU,
      sensitivity: distanceMm * USED_WITHIN_C,
      source: temperature.measured
        ? `measured; used within ${USED_WITHIN_C} degrees`
        : `not measured here; used within ${USED_WITHIN_C} degrees`,
    },
  ]);
}

/** The counts at which the curve shows a distance. */
function countsAt(distanceMm: number, curve: Curve): number {
  let { lowCounts: low, highCounts: high } = curve;
  const value = (c: number) => curve.fit.at(curve.row(c)).value;
  const rises = value(high) > value(low);
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (value(middle) < distanceMm === rises) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
