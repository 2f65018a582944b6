/**
 * The daily check on the height master: low and high edge in turn, so that offset and gain are both seen, on a Shewhart and an
 * EWMA chart for each fixture, head position and calibration.
 */
import { daysAfter, type Day } from './equipment';
import type { GaugingTarget } from './events';
import type { HeightMaster } from './height-master';
import { edgesFor } from './height-master';
import type { Session } from './session';
import { chartAround, ewmaChart, type Chart } from './statistics/control-chart';
import { meanOf } from './statistics/spread';
import { tabulatedConstants } from './statistics/chart-constants';

/** One check: what the fixture reads too high in the mean of both edges, and at the high edge more than at the low one. */
export interface CheckPoint {
  readonly on: Day;
  readonly offsetMm: number;
  readonly tiltMm: number;
}

/** Low, high, low, high, seated anew each time. */
export function checkSteps(master: HeightMaster, head: 0 | 1): GaugingTarget[] {
  const { lowMm, highMm } = edgesFor(master, head);
  return [lowMm, highMm, lowMm, highMm].map((edgeMm) => ({
    kind: 'edge',
    head,
    edgeMm,
    blockMm: 0,
    turnDeg: 0,
  }));
}

/** Undefined while an edge has not been read. */
export function checkPoint({ opened, readings }: Session): CheckPoint | undefined {
  const errors = readings.flatMap(({ target, capture }) =>
    target.kind === 'edge' ? [{ edgeMm: target.edgeMm, errorMm: capture.height / 1000 - target.edgeMm }] : [],
  );
  const lowMm = Math.min(...errors.map((e) => e.edgeMm));
  const low = errors.filter((e) => e.edgeMm === lowMm).map((e) => e.errorMm);
  const high = errors.filter((e) => e.edgeMm !== lowMm).map((e) => e.errorMm);
  if (low.length === 0 || high.length === 0) return undefined;
  return pointOf(opened.on, low, high);
}

export function pointOf(
  on: Day,
  lowErrorsMm: readonly number[],
  highErrorsMm: readonly number[],
): CheckPoint {
  const low = meanOf(lowErrorsMm);
  const high = meanOf(highErrorsMm);
  return { on, offsetMm: (low + high) / 2, tiltMm: high - low };
}

/** Checks from which centre and spread of a chart are learned, counted from the calibration. */
export const BASELINE_CHECKS = 20;
/** Before and below this nothing narrower is believed: seat and sand grain of a clean master. Common practice, no source. */
const LEAST_SIGMA_MM = 0.03;
/** A difference of two means has twice the spread of their mean. */
const TILT_TO_OFFSET = 2;
/**
 * Widths of the limits in standard deviations. Wider than the usual 3 because four charts are watched at once: with 3 a good
 * fixture would be stopped several times a year. Figures: `npm run prove -- daily-check`.
 */
const SHEWHART_WIDTH = 3.7;
const EWMA_WIDTH = 3.5;
const EWMA_LAMBDA = 0.25;
/** Once a baseline stands nothing farther off than this is in control, whatever the spread was. */
const MOST_OFF_MM = 0.15;

export interface CheckCharts {
  readonly offset: Chart;
  readonly offsetEwma: Chart;
  readonly tilt: Chart;
  readonly tiltEwma: Chart;
  /** Checks that centre and spread rest on. */
  readonly baseline: number;
}

/** Charts of the checks since a calibration, oldest first; at least one. */
export function checkCharts(points: readonly CheckPoint[]): CheckCharts {
  const baseline = Math.min(points.length, BASELINE_CHECKS);
  const pair = (values: readonly number[], least: number) => {
    const known = values.slice(0, baseline);
    // Until the baseline is complete the certificate's heights are the centre and the least spread is doubled.
    const learned = baseline === BASELINE_CHECKS;
    const centre = learned ? meanOf(known) : 0;
    const sigma = learned ? Math.max(least, spreadOf(known)) : 2 * least;
    const width = Math.min(SHEWHART_WIDTH, Math.max(2, ((least / LEAST_SIGMA_MM) * MOST_OFF_MM) / sigma));
    return {
      shewhart: chartAround(values, centre, sigma, width),
      ewma: ewmaChart(values, {
        lambda: EWMA_LAMBDA,
        target: centre,
        sigma,
        width: EWMA_WIDTH,
        limits: 'exact',
      }),
    };
  };
  const offset = pair(
    points.map((p) => p.offsetMm),
    LEAST_SIGMA_MM,
  );
  const tilt = pair(
    points.map((p) => p.tiltMm),
    TILT_TO_OFFSET * LEAST_SIGMA_MM,
  );
  return {
    offset: offset.shewhart,
    offsetEwma: offset.ewma,
    tilt: tilt.shewhart,
    tiltEwma: tilt.ewma,
    baseline,
  };
}

export interface CheckState {
  readonly state: 'in control' | 'out of control' | 'overdue';
  readonly on: Day;
  /** What is wrong and what to do; empty while all is well. */
  readonly why: string;
}

/** Days after its own for which a check counts. */
const CHECK_COUNTS_DAYS = 1;

/** Whether the fixture may be trusted on a day, after its checks since the calibration. Undefined: never checked. */
export function checkState(points: readonly CheckPoint[], on: Day): CheckState | undefined {
  const last = points.at(-1);
  if (last === undefined) return undefined;
  if (on > daysAfter(last.on, CHECK_COUNTS_DAYS))
    return {
      state: 'overdue',
      on: last.on,
      why: `last checked on ${last.on}; check it on its height master`,
    };
  const signals = signalsOfLast(checkCharts(points));
  if (signals.length === 0) return { state: 'in control', on: last.on, why: '' };
  return {
    state: 'out of control',
    on: last.on,
    why: `${signals.join('; ')}; wipe lips, plate and pads, seat it again and repeat the check; if it stays, calibrate`,
  };
}

/** What the newest check shows, in words. */
export function signalsOfLast({ offset, offsetEwma, tilt, tiltEwma }: CheckCharts): string[] {
  const at = offset.points.length - 1;
  const off = (chart: Chart) => `${(chart.points[at] - chart.centre).toFixed(2)} mm`;
  return [
    ...(offset.beyond.includes(at) ? [`reads off by ${off(offset)}`] : []),
    ...(offsetEwma.beyond.includes(at) ? [`has drifted by about ${off(offsetEwma)}`] : []),
    ...(tilt.beyond.includes(at) ? [`reads the edges ${off(tilt)} too far apart`] : []),
    ...(tiltEwma.beyond.includes(at)
      ? [`its gain has drifted: about ${off(tiltEwma)} between the edges`]
      : []),
  ];
}

/** From the mean moving range, so that a drift in the baseline does not widen the limits. */
function spreadOf(values: readonly number[]): number {
  return meanOf(values.slice(1).map((v, i) => Math.abs(v - values[i]))) / tabulatedConstants(2).d2;
}
