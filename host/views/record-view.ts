/**
 * The full record of a job: what the sheet says, and everything that it rests on. Computed from the job's stored events
 * alone, so that the same events give the same record.
 */
import type { Body } from '../../protocol/wire/messages';
import { edgesFor } from '../gauging/height-master';
import { knownMaster } from '../gauging/known';
import type { Stage, StepTarget, StoredEvent } from '../ledger/events';
import { assess } from '../procedure/assess';
import { assumedWidths } from '../procedure/assumed-values';
import { replay, type JobState, type Reading, type Setting } from '../procedure/state';
import type { UncertaintyBudget, UncertaintySource } from '../procedure/uncertainty-budget';
import type { SealView } from './seal-view';
import { sheetOf, whyNotCounted, type SheetView } from './sheet-view';

export interface RecordView {
  readonly sheet: SheetView;
  /** Of the first and of the last complete set of readings: the cause rests on one, the result on the other. */
  readonly budgets: readonly { readonly stage: Stage; readonly budget: UncertaintyBudget }[];
  /** Sources whose width no study, certificate, survey or plate has replaced. */
  readonly assumed: readonly UncertaintySource[];
  /** Everything that was read, as it was read, oldest first. */
  readonly readings: readonly RawReading[];
  readonly instruments: readonly InstrumentLine[];
  readonly photos: readonly PhotoLine[];
  readonly cautionsConfirmedAt: string | undefined;
  readonly seal: SealView;
}

/** A photo that belongs to the job. The picture lies outside the log; its hash ties it to the record. */
export interface PhotoLine {
  readonly at: string;
  readonly by: string;
  readonly kind: 'jpeg' | 'png';
  readonly bytes: number;
  /** SHA-256 of the file, hexadecimal. */
  readonly hash: string;
  /** False once it was deleted. */
  readonly kept: boolean;
}

interface AnyRawReading {
  /** Number of the fixture's capture, or of the ruler's reading in this job. */
  readonly number: number;
  /** When it was written to the log, ISO 8601 in UTC. */
  readonly at: string;
  /** Its entry in the log. */
  readonly sequence: number;
  readonly target: StepTarget;
  /** Which set of readings it belongs to; left out for readings on the height master. */
  readonly stage?: Stage;
  readonly heightMm: number;
  /** The technician was asked about it and said that it is right. */
  readonly upheld: boolean;
  /** Why it does not count. */
  readonly setAside?: string;
}

/** As the fixture sent it, in whole units; protocol/SPEC.md says how distance and height follow from it. */
export interface RawCapture extends AnyRawReading {
  readonly by: 'fixture';
  readonly fixtureId: string;
  readonly bootCount: number;
  readonly uptimeS: number;
  readonly headPosition: 'low' | 'high';
  readonly calibrationVersion: number;
  readonly samples: number;
  /** Converter counts: mean of the still window, standard deviation of one sample. */
  readonly countsMean: number;
  readonly countsSd: number;
  readonly driftMmPerS: number;
  /** Specific force in the fixture's frame, before the bias is taken off. */
  readonly gravityMg: readonly [number, number, number];
  readonly temperatureC: number;
  readonly waitedMs: number;
  readonly distanceMm: number;
}

export interface RawRulerReading extends AnyRawReading {
  readonly by: 'ruler';
  /** U (k = 2). */
  readonly expandedMm: number;
}

export type RawReading = RawCapture | RawRulerReading;

/** A fixture as the job met it. */
export interface InstrumentLine {
  readonly fixtureId: string;
  readonly board: string;
  readonly firmwareVersion: string;
  readonly protocol: string;
  readonly calibrations: readonly CalibrationLine[];
  readonly master: { readonly name: string; readonly lowMm: number; readonly highMm: number };
  readonly openingErrorsMm: readonly number[];
  readonly closingErrorsMm: readonly number[];
  readonly trust: readonly string[];
  /** Numbers of its captures in this job: first, last, and those between that are not in it. */
  readonly captures: {
    readonly first: number;
    readonly last: number;
    readonly missing: readonly { readonly from: number; readonly to: number }[];
  };
  readonly bootCounts: readonly number[];
}

/** A calibration as it stands in the fixture: what turns counts into heights. */
export interface CalibrationLine {
  readonly version: number;
  readonly head: 'low' | 'high';
  /** Day on which it was written. */
  readonly on: string;
  readonly body: Body<'calibration'>;
}

/** Undefined when there are no events. `seal` is of the job's last event. */
export function recordView(events: readonly StoredEvent[], seal: SealView): RecordView | undefined {
  const state = replay(events.map((e) => e.event));
  const sheet = state === undefined ? undefined : sheetOf(state, events);
  if (state === undefined || sheet === undefined) return undefined;
  const confirmed = events.find((e) => e.event.type === 'cautions confirmed');
  return {
    sheet,
    budgets: budgetsOf(state),
    assumed: assumedSources(state),
    readings: rawReadings(state, events),
    instruments: state.fixtures.map((f) => instrumentLine(state, sheet, f)),
    photos: photoLines(events),
    cautionsConfirmedAt: confirmed?.at,
    seal,
  };
}

/** Photos that belong to the job; of deleted ones it says so, as their hashes stay in the chain. */
function photoLines(events: readonly StoredEvent[]): PhotoLine[] {
  const gone = new Set(
    events.flatMap(({ event }) => (event.type === 'deleted' && event.what === 'photos' ? event.sha256s : [])),
  );
  return events.flatMap(({ at, event }) =>
    event.type === 'photo attached'
      ? [
          {
            at,
            by: event.by,
            kind: event.kind,
            bytes: event.bytes,
            hash: event.sha256,
            kept: !gone.has(event.sha256),
          },
        ]
      : [],
  );
}

function budgetsOf(state: JobState): RecordView['budgets'] {
  const read = state.settings.filter((s) => s.assessed.length > 0);
  const wanted = read.filter((_, i) => i === 0 || i === read.length - 1);
  return wanted.map((setting) => ({ stage: setting.stage, budget: assess(state, setting).budget() }));
}

function assumedSources(state: JobState): UncertaintySource[] {
  const names = assumedWidths(state).flatMap((name) => (name === 'floorLengthMm' ? [] : [name]));
  return state.bay === undefined ? [...names, 'floorSlopeRad'] : names;
}

/** Each reading with the entry of the log that holds it. */
function rawReadings(state: JobState, events: readonly StoredEvent[]): RawReading[] {
  const key = (fixtureId: string, number: number) => `${fixtureId} ${number}`;
  const entries = new Map<string, StoredEvent>();
  let ruler = 0;
  for (const stored of events) {
    const { event } = stored;
    if (event.type === 'captured') entries.set(key(event.fixtureId, event.capture.capture), stored);
    else if (event.type === 'ruler read') entries.set(key('ruler', (ruler += 1)), stored);
  }
  return state.readings.map((reading) =>
    rawReading(reading, entries.get(key(reading.fixtureId, reading.number)), state.settings),
  );
}

function rawReading(
  reading: Reading,
  stored: StoredEvent | undefined,
  settings: readonly Setting[],
): RawReading {
  const { number, target, upheld } = reading;
  const setAside = whyNotCounted(reading);
  const stage =
    target.kind === 'master' ? undefined : settings.find((s) => s.seatings.includes(target.seating))?.stage;
  const common = {
    number,
    at: stored?.at ?? '',
    sequence: stored?.sequence ?? 0,
    target,
    upheld,
    ...(stage === undefined ? {} : { stage }),
    ...(setAside === undefined ? {} : { setAside }),
  };
  if (reading.by === 'ruler')
    return { by: 'ruler', ...common, heightMm: reading.heightMm, expandedMm: reading.expandedMm };
  return { by: 'fixture', ...common, fixtureId: reading.fixtureId, ...rawCapture(reading.capture) };
}

/** Units of the wire into those of the page. */
function rawCapture(c: Body<'captured'>) {
  return {
    bootCount: c.bootCount,
    uptimeS: c.uptimeMs / 1000,
    headPosition: headName(c.headPosition),
    calibrationVersion: c.calibrationVersion,
    samples: c.samples,
    countsMean: c.countsMean / 256,
    countsSd: c.countsSd / 256,
    driftMmPerS: c.drift / 1000,
    gravityMg: [c.gravityX / 1000, c.gravityY / 1000, c.gravityZ / 1000] as const,
    temperatureC: c.temperature / 100,
    waitedMs: c.waitedMs,
    distanceMm: c.distance / 1000,
    heightMm: c.height / 1000,
  };
}

function headName(position: number): 'low' | 'high' {
  return position === 0 ? 'low' : 'high';
}

function instrumentLine(
  state: JobState,
  sheet: SheetView,
  { identity, calibrations }: JobState['fixtures'][number],
): InstrumentLine {
  const { fixtureId, firmwareVersion, board, protocolMajor, protocolMinor } = identity;
  const captures = state.readings.flatMap((r) =>
    r.by === 'fixture' && r.fixtureId === fixtureId ? [r.capture] : [],
  );
  const line = sheet.fixtures.find((f) => f.fixtureId === fixtureId);
  const master = knownMaster(state.instruments, fixtureId);
  return {
    fixtureId,
    board,
    firmwareVersion,
    protocol: `${protocolMajor}.${protocolMinor}`,
    calibrations: calibrations.map((body) => ({
      version: body.version,
      head: headName(body.headPosition),
      on: new Date(body.setOnDay * 86_400_000).toISOString().slice(0, 10),
      body,
    })),
    master: { name: master.name, ...edgesFor(master, captures[0]?.headPosition ?? 0) },
    openingErrorsMm: line?.openingErrorsMm ?? [],
    closingErrorsMm: line?.closingErrorsMm ?? [],
    trust: line?.trust ?? [],
    captures: numbersOf(captures.map((c) => c.capture)),
    bootCounts: [...new Set(captures.map((c) => c.bootCount))].sort((a, b) => a - b),
  };
}

/** Gaps as first and last missing number: another job of the fixture may lie between two days of this one. */
function numbersOf(numbers: readonly number[]): InstrumentLine['captures'] {
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  const missing = sorted.flatMap((number, i) => {
    const next = sorted[i + 1];
    return next === undefined || next === number + 1 ? [] : [{ from: number + 1, to: next - 1 }];
  });
  return { first: sorted[0] ?? 0, last: sorted.at(-1) ?? 0, missing };
}
