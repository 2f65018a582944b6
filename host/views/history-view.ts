/**
 * What jobs show when they are laid side by side: of one machine, a model, a technician or a fixture. Trends with their
 * slope, and for a machine that came again what has changed since it left, against what the readings can tell.
 */
import type { Decision, StoredEvent, Use } from '../ledger/events';
import { assess, masterErrorMm } from '../procedure/assess';
import { costsOf } from '../procedure/reading-time';
import { onMaster, replay, type JobState, type Setting } from '../procedure/state';
import { partLines } from './course';
import { labourOf } from './labour';
import { measureRows, type MeasureRow } from './stage-view';
import type { Table } from './table';
import { turnedText } from './words';

/** One job as a point of a history. */
export interface HistoryJob {
  /** Whose log holds it. */
  readonly writer: string;
  readonly job: number;
  /** When it was opened, ISO 8601 in UTC. */
  readonly at: string;
  readonly use: Use;
  readonly model: string;
  readonly serialNumber: string;
  readonly technicians: readonly string[];
  readonly simulated: boolean;
  readonly decision: Decision | undefined;
  /** Of the first and of the last complete set of readings; empty where there is none. */
  readonly came: readonly MeasureRow[];
  readonly left: readonly MeasureRow[];
  /** Mean difference of each fixture from the edges of its height master, at the opening. */
  readonly openings: readonly { readonly fixtureId: string; readonly errorMm: number }[];
  readonly minutes: number;
  readonly setAside: number;
  readonly readings: number;
  readonly rounds: number;
  /** What was turned, replaced and tested in it, in words. */
  readonly done: readonly string[];
}

/** What jobs are laid side by side by. */
export type HistoryOf = 'serial number' | 'model' | 'technician' | 'fixture';

export interface TrendPoint {
  readonly at: string;
  readonly writer: string;
  readonly job: number;
  readonly value: number;
  /** U (k = 2), where it has one. */
  readonly expanded?: number;
}

export interface Trend {
  readonly name: string;
  readonly unit: 'mm' | 'min' | 'readings' | 'rounds';
  readonly limits?: { readonly lower: number; readonly upper: number };
  /** Oldest first; several where a job has more than one of it. */
  readonly series: readonly { readonly name: string; readonly points: readonly TrendPoint[] }[];
  /** Of the first series; left out below three points or on a single day. */
  readonly slope?: Slope;
}

/** Straight line through the points by least squares, in the trend's unit a month of 30 days. */
export interface Slope {
  readonly perMonth: number;
  readonly standardUncertainty: number;
  /** More than twice its standard uncertainty. */
  readonly isMoreThanNoise: boolean;
}

/** A machine that came again: what it left with and what it came back with. */
export interface Change {
  readonly from: { readonly writer: string; readonly job: number; readonly at: string };
  readonly to: { readonly writer: string; readonly job: number; readonly at: string };
  readonly measures: readonly ChangedMeasure[];
  /** What was done in the earlier job, after it had come. */
  readonly done: readonly string[];
}

export interface ChangedMeasure {
  readonly name: string;
  readonly leftMm: number;
  readonly cameMm: number;
  readonly differenceMm: number;
  /** U (k = 2) of the difference: both taken as independent, which is on the safe side where one bay or fixture read both. */
  readonly expandedMm: number;
  readonly isMoreThanNoise: boolean;
}

export interface HistoryView {
  readonly of: HistoryOf;
  readonly name: string;
  /** Oldest first. */
  readonly jobs: readonly HistoryJob[];
  readonly trends: readonly Trend[];
  /** Only of one machine, oldest first. */
  readonly changes: readonly Change[];
}

/** Undefined when there are no events. */
export function historyJob(writer: string, events: readonly StoredEvent[]): HistoryJob | undefined {
  const state = replay(events.map((e) => e.event));
  const first = events[0];
  if (state === undefined || first === undefined) return undefined;
  const read = state.settings.filter((s) => s.assessed.length > 0);
  const [came, left] = [read[0], read.at(-1)].map((setting) => measuresOf(state, setting));
  return {
    writer,
    job: state.job,
    at: first.at,
    use: state.use,
    model: state.profile.model,
    serialNumber: state.serialNumber,
    technicians: state.technicians,
    simulated: state.simulated,
    decision: state.closed,
    came: came ?? [],
    left: left ?? [],
    openings: state.fixtures.flatMap((f) => openingOf(state, f.identity.fixtureId)),
    minutes: labourOf(events, costsOf(state)).seconds / 60,
    setAside: state.readings.filter((r) => r.setAside !== undefined).length,
    readings: state.readings.length,
    rounds: state.settings.filter((s) => s.turned.length > 0).length,
    done: [
      ...state.settings.flatMap((s) => s.turned.map((t) => turnedText(state.profile, t.adjuster, t.turns))),
      ...partLines(state),
    ],
  };
}

function measuresOf(state: JobState, setting: Setting | undefined): readonly MeasureRow[] {
  if (setting === undefined) return [];
  const { solution, result } = assess(state, setting);
  return measureRows(state.profile, solution, result);
}

function openingOf(state: JobState, fixtureId: string): HistoryJob['openings'] {
  const errors = onMaster(state)
    .filter((r) => r.fixtureId === fixtureId && r.target.when === 'opening')
    .map((r) => masterErrorMm(r, state.instruments));
  if (errors.length === 0) return [];
  return [{ fixtureId, errorMm: errors.reduce((a, b) => a + b, 0) / errors.length }];
}

/** Pure: the jobs laid side by side, in any order. */
export function historyView(of: HistoryOf, name: string, jobs: readonly HistoryJob[]): HistoryView {
  const sorted = [...jobs].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : a.job - b.job));
  return {
    of,
    name,
    jobs: sorted,
    trends: trendsOf(of, name, sorted),
    changes: of === 'serial number' ? changesOf(sorted) : [],
  };
}

function trendsOf(of: HistoryOf, name: string, jobs: readonly HistoryJob[]): Trend[] {
  switch (of) {
    case 'serial number':
    case 'model':
      return measureTrends(jobs);
    case 'technician':
      return [
        oneTrend('time of a job by the log', 'min', jobs, (j) => j.minutes),
        oneTrend('rounds of turning', 'rounds', jobs, (j) => j.rounds),
        oneTrend('readings set aside', 'readings', jobs, (j) => j.setAside),
      ];
    case 'fixture': {
      const errorOf = (j: HistoryJob) =>
        j.openings.find((o) => o.fixtureId.toLowerCase() === name.toLowerCase())?.errorMm;
      return [oneTrend('mean difference from its height master at the opening', 'mm', jobs, errorOf)];
    }
  }
}

function measureTrends(jobs: readonly HistoryJob[]): Trend[] {
  const names = [...new Set(jobs.flatMap((j) => j.came.map((m) => m.name)))];
  return names.map((name): Trend => {
    const points = (which: 'came' | 'left') =>
      jobs.flatMap((j) => {
        const row = j[which].find((m) => m.name === name);
        if (row === undefined || !Number.isFinite(row.valueMm)) return [];
        return [{ at: j.at, writer: j.writer, job: j.job, value: row.valueMm, expanded: row.expandedMm }];
      });
    const row = jobs.flatMap((j) => j.left.filter((m) => m.name === name)).at(-1);
    return withSlope({
      name,
      unit: 'mm',
      ...(row === undefined ? {} : { limits: { lower: row.lowerMm, upper: row.upperMm } }),
      series: [
        { name: 'as it came', points: points('came') },
        { name: 'as it left', points: points('left') },
      ],
    });
  });
}

function oneTrend(
  name: string,
  unit: Trend['unit'],
  jobs: readonly HistoryJob[],
  valueOf: (job: HistoryJob) => number | undefined,
): Trend {
  const points = jobs.flatMap((j) => {
    const value = valueOf(j);
    return value === undefined ? [] : [{ at: j.at, writer: j.writer, job: j.job, value }];
  });
  return withSlope({ name, unit, series: [{ name, points }] });
}

function withSlope(trend: Trend): Trend {
  const points = (trend.series[0]?.points ?? []).map((p) => [monthsOf(p.at), p.value] as const);
  const slope = slopeOf(points);
  return slope === undefined ? trend : { ...trend, slope };
}

const MONTH_MS = 30 * 86_400_000;

function monthsOf(at: string): number {
  return Date.parse(at) / MONTH_MS;
}

/** Least squares; the standard uncertainty from the residuals with n - 2 degrees of freedom (NIST/SEMATECH handbook, 4.4.3). */
export function slopeOf(points: readonly (readonly [x: number, y: number])[]): Slope | undefined {
  const n = points.length;
  const meanOf = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / n;
  const [x0, y0] = [meanOf(points.map(([x]) => x)), meanOf(points.map(([, y]) => y))];
  const sxx = points.reduce((sum, [x]) => sum + (x - x0) ** 2, 0);
  if (n < 3 || !(sxx > 1e-4)) return undefined;
  const perMonth = points.reduce((sum, [x, y]) => sum + (x - x0) * (y - y0), 0) / sxx;
  const left = points.reduce((sum, [x, y]) => sum + (y - y0 - perMonth * (x - x0)) ** 2, 0);
  const standardUncertainty = Math.sqrt(left / (n - 2) / sxx);
  return { perMonth, standardUncertainty, isMoreThanNoise: Math.abs(perMonth) > 2 * standardUncertainty };
}

/** From each job that read the machine to the next one that did. */
function changesOf(jobs: readonly HistoryJob[]): Change[] {
  const read = jobs.filter((j) => j.came.length > 0);
  return read.slice(1).map((to, i): Change => {
    const from = read[i] ?? to;
    const which = ({ writer, job, at }: HistoryJob) => ({ writer, job, at });
    return {
      from: which(from),
      to: which(to),
      measures: to.came.flatMap((came) => {
        const left = from.left.find((m) => m.name === came.name);
        if (left === undefined || !Number.isFinite(left.valueMm) || !Number.isFinite(came.valueMm)) return [];
        const differenceMm = came.valueMm - left.valueMm;
        const expandedMm = Math.hypot(left.expandedMm, came.expandedMm);
        return [
          {
            name: came.name,
            leftMm: left.valueMm,
            cameMm: came.valueMm,
            differenceMm,
            expandedMm,
            isMoreThanNoise: Math.abs(differenceMm) > expandedMm,
          },
        ];
      }),
      done: from.done,
    };
  });
}

/** One row for each measure of each job, for a spreadsheet: values in mm with all their digits. */
export function historyTable({ of, name, jobs }: HistoryView): Table {
  const number = (value: number | undefined) =>
    value === undefined || !Number.isFinite(value) ? '' : String(value);
  return {
    title: `History of ${of} ${name}`,
    head: [
      'log',
      'job',
      'opened',
      'use',
      'model',
      'serial number',
      'technicians',
      'simulated',
      'result',
      'measure',
      'came mm',
      'came U mm',
      'left mm',
      'left U mm',
      'lower limit mm',
      'upper limit mm',
      'minutes',
      'readings',
      'set aside',
    ],
    rows: jobs.flatMap((j) =>
      (j.left.length === 0 ? [undefined] : j.left).map((left) => {
        const came = j.came.find((m) => m.name === left?.name);
        return [
          j.writer,
          `${j.job}`,
          j.at,
          j.use,
          j.model,
          j.serialNumber,
          j.technicians.join('; '),
          j.simulated ? 'yes' : 'no',
          j.decision ?? 'open',
          left?.name ?? '',
          number(came?.valueMm),
          number(came?.expandedMm),
          number(left?.valueMm),
          number(left?.expandedMm),
          number(left?.lowerMm),
          number(left?.upperMm),
          number(j.minutes),
          `${j.readings}`,
          `${j.setAside}`,
        ];
      }),
    ),
  };
}
