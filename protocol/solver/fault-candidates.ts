/** What may be wrong: the explanations that are compared, each with its limit and with what it does to the readings. */
import type { Layout, MeasureQuestion, TipReading } from './layout';
import { toFloat, zeros } from './number';
import { BEND, HEIGHT, SHAFT, spindleAt, TILT_X, TILT_Y, type TipModel } from './tip-model';

export type FaultKind =
  | 'bent blade'
  | 'bent shaft or dirty hub face'
  | 'spindle high or low'
  | 'spindle tilted'
  | 'twisted shell'
  | 'floor'
  | 'one bad reading'
  | 'wrong heading or wrong tip';

export interface Candidate {
  readonly kind: FaultKind;
  /** -1: the shell. */
  readonly spindle: number;
  /** The readings that it touches. */
  readonly readings: readonly number[];
  /** In mm of its size; 0: four standard deviations of what the other readings predict. */
  readonly limitMm: number;
  /** Name of the question that the limit is taken from; '': the shop limit. */
  readonly limitOf: string;
  /** The readings as they should have been labelled, for a wrong heading or tip. */
  readonly relabelled?: readonly TipReading[];
}

/** Where a profile sets no limit for a part: this at the blade's tip. Common practice, no source. */
export const SHOP_LIMIT_MM = 3;

/**
 * How often each is met, against a machine without it: common practice, no source. They decide only between
 * explanations that the readings hardly tell apart.
 */
export const PRIOR_ODDS: Readonly<Record<FaultKind, number>> = {
  'bent blade': 0.05,
  'bent shaft or dirty hub face': 0.02,
  'spindle high or low': 0.02,
  'spindle tilted': 0.02,
  'twisted shell': 0.01,
  floor: 0.005,
  'one bad reading': 0.005,
  'wrong heading or wrong tip': 0.005,
};

/** Parts that were read, spots of the floor, clampings and single readings. */
export function candidatesOf(model: TipModel, questions: readonly MeasureQuestion[]): Candidate[] {
  const list: Candidate[] = [];
  const { layout, readings } = model;
  for (let k = 0; k < layout.spindles.length; k++) {
    const own: number[] = [];
    for (let i = 0; i < readings.length; i++) if (readings[i].spindle === k) own.push(i);
    if (own.length > 0) {
      const bend = bendLimit(questions, k);
      list.push({ kind: 'bent blade', spindle: k, readings: own, ...bend });
      list.push({ kind: 'bent shaft or dirty hub face', spindle: k, readings: own, ...bend });
      list.push({ kind: 'spindle high or low', spindle: k, readings: own, ...SHOP_LIMIT });
      list.push({ kind: 'spindle tilted', spindle: k, readings: own, ...SHOP_LIMIT });
    }
  }
  const all: number[] = [];
  for (let i = 0; i < readings.length; i++) all.push(i);
  if (layout.spindles.length > 1) {
    list.push({ kind: 'twisted shell', spindle: -1, readings: all, ...SHOP_LIMIT });
  }
  for (let s = 0; s < model.stations.length; s++) {
    const over = all.filter((i) => model.stationOf[i] === s);
    list.push({ kind: 'floor', spindle: model.stations[s].spindle, readings: over, ...SHOP_LIMIT });
  }
  for (const readingsOfOne of clampings(readings)) {
    const spindle = readings[readingsOfOne[0]].spindle;
    const bad = { kind: 'one bad reading', spindle, limitMm: toFloat(0), limitOf: '' } as const;
    if (readingsOfOne.length > 1) list.push({ ...bad, readings: readingsOfOne });
    for (const i of readingsOfOne) list.push({ ...bad, readings: [i] });
  }
  return list;
}

const SHOP_LIMIT = { limitMm: SHOP_LIMIT_MM, limitOf: '' } as const;

function bendLimit(questions: readonly MeasureQuestion[], spindle: number) {
  for (const question of questions) {
    if (question.what === 'bend' && question.spindle === spindle) {
      const limitMm = Math.max(Math.abs(toFloat(question.lowerMm)), Math.abs(toFloat(question.upperMm)));
      return { limitMm, limitOf: question.name };
    }
  }
  return SHOP_LIMIT;
}

/** Numbers of the readings of each clamping. */
export function clampings(readings: readonly TipReading[]): number[][] {
  const list: number[][] = [];
  for (let i = 0; i < readings.length; i++) {
    let found = 0;
    while (found < list.length && readings[list[found][0]].placement !== readings[i].placement) found += 1;
    if (found === list.length) list.push([]);
    list[found].push(i);
  }
  return list;
}

/** What one mm of the fault adds to each reading; a tilt has two directions, forward and to the left. */
export function columnsOf(model: TipModel, candidate: Candidate): readonly [number[], number[]] {
  const first = zeros(model.readings.length);
  const second = zeros(model.readings.length);
  const { kind, spindle } = candidate;
  if (kind === 'floor' || kind === 'one bad reading' || kind === 'wrong heading or wrong tip') {
    for (const i of candidate.readings) first[i] = toFloat(kind === 'floor' ? -1 : 1);
    return [first, second];
  }
  const reach = kind === 'twisted shell' ? reachOf(model.layout) : { xMm: toFloat(1), yMm: toFloat(1) };
  let fit = toFloat(1);
  for (const reading of model.readings) if (reading.spindle === spindle) fit = fitOf(reading);
  for (let i = 0; i < model.readings.length; i++) {
    const reading = model.readings[i];
    const station = model.stations[model.stationOf[i]];
    if (kind === 'twisted shell') {
      const x = (station.xMm - model.middle.xMm) / reach.xMm;
      first[i] = (x * (station.yMm - model.middle.yMm)) / reach.yMm;
    } else if (reading.spindle === spindle) {
      if (kind === 'bent blade') first[i] = toFloat(reading.end) / 2;
      else if (kind === 'bent shaft or dirty hub face')
        first[i] = (toFloat(reading.end) * fitOf(reading) * fit) / 2;
      else if (kind === 'spindle high or low') first[i] = toFloat(1);
      else {
        first[i] = station.cos / 2;
        second[i] = station.sin / 2;
      }
    }
  }
  return [first, second];
}

/** Places of the model's unknowns that a part's fault is the extreme of. */
export function unknownsOf(model: TipModel, { kind, spindle }: Candidate): number[] {
  const at = spindleAt(spindle);
  if (kind === 'bent blade') return [at + BEND];
  if (kind === 'bent shaft or dirty hub face') return [at + SHAFT];
  if (kind === 'spindle high or low') return [at + HEIGHT];
  if (kind === 'spindle tilted') return [at + TILT_X, at + TILT_Y];
  if (kind === 'twisted shell') return [model.size - 1];
  return [];
}

/** 1 as first fitted, -1 once refitted. A shaft's fault counts as the blade stood at the spindle's last reading. */
function fitOf(reading: TipReading): number {
  return toFloat(reading.refitted ? -1 : 1);
}

/** From the middle of the spindles to the deck's corners. */
function reachOf(layout: Layout): { xMm: number; yMm: number } {
  let xLow = Infinity;
  let xHigh = -Infinity;
  let yLow = Infinity;
  let yHigh = -Infinity;
  for (const { xMm, yMm, tipRadiusMm } of layout.spindles) {
    xLow = Math.min(xLow, toFloat(xMm) - tipRadiusMm);
    xHigh = Math.max(xHigh, toFloat(xMm) + tipRadiusMm);
    yLow = Math.min(yLow, toFloat(yMm) - tipRadiusMm);
    yHigh = Math.max(yHigh, toFloat(yMm) + tipRadiusMm);
  }
  return { xMm: (xHigh - xLow) / 2, yMm: (yHigh - yLow) / 2 };
}

/** A clamping as it might really have been: on the blade's other end, on another blade, or at another quarter. */
export function relabellings(
  layout: Layout,
  readings: readonly TipReading[],
  clamping: readonly number[],
): { readonly at: readonly number[]; readonly relabelled: readonly TipReading[] }[] {
  const list: { at: readonly number[]; relabelled: TipReading[] }[] = [];
  const change = (at: readonly number[], how: (reading: TipReading) => TipReading) => {
    const relabelled: TipReading[] = [];
    for (let i = 0; i < readings.length; i++) {
      let own = false;
      for (const j of at) if (i === j) own = true;
      relabelled.push(own ? how(readings[i]) : readings[i]);
    }
    list.push({ at, relabelled });
  };
  change(clamping, (reading) => ({ ...reading, end: reading.end === 1 ? -1 : 1 }));
  for (let k = 0; k < layout.spindles.length; k++) {
    if (k !== readings[clamping[0]].spindle) change(clamping, (reading) => ({ ...reading, spindle: k }));
  }
  for (const i of clamping) {
    for (const turnDeg of [90, 180, -90]) {
      change([i], (reading) => ({ ...reading, headingDeg: toFloat(reading.headingDeg) + turnDeg }));
    }
  }
  return list;
}
