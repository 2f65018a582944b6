/**
 * A job as it stands, computed from its events and from nothing else. Replaying the same events gives the same state.
 */
import { captureHeightUm } from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import type { BayOfJob } from '../bay/known-floor';
import type { TargetPlate } from '../bay/target-plate';
import type {
  Decision,
  JobEvent,
  LearnedGains,
  ReadingCosts,
  Stage,
  StepTarget,
  TurningFinding,
  WheelShim,
} from '../ledger/events';
import type { MachineProfile } from '../machines/profile';

export type TipTarget = Extract<StepTarget, { kind: 'tip' }>;
export type MasterTarget = Extract<StepTarget, { kind: 'master' }>;

/** A capture of this job with what it was meant to read. */
export interface Reading {
  readonly step: number;
  readonly target: StepTarget;
  readonly fixtureId: string;
  readonly capture: Body<'captured'>;
  /**
   * What it was taken with: the calibration on record of its fixture, head and version under which its distance and height
   * come out again. Without one it must not be used (protocol/SPEC.md, section 12).
   */
  readonly calibration?: Body<'calibration'>;
  /** Why the technician set it aside; kept on the record all the same. */
  readonly setAside?: string;
  /** The technician was asked about it and says that it is right. */
  readonly upheld: boolean;
}

/** One position of the adjusters: everything from one turning (or arrival, or tightening) to the next. */
export interface Setting {
  readonly stage: Stage;
  /** Lowerings of the deck onto its stop in this setting. */
  readonly seatings: readonly number[];
  readonly felt: Readonly<Record<string, 'carrying' | 'slack'>>;
  readonly takenUp: readonly string[];
  /** Results written down in this setting. */
  readonly assessed: readonly Assessed[];
  /** Turned after this setting was read. */
  readonly turned: readonly { readonly adjuster: string; readonly turns: number }[];
  readonly tightened: boolean;
  /** What the turning before this setting was found to have been, when the readings contradicted it. */
  readonly turningChecked?: TurningFinding;
  /** Blades that were to be refitted half a turn round, to tell blade from shaft. */
  readonly refits?: readonly {
    readonly spindle: string;
    readonly answer: 'half a turn round' | 'not now';
    /** The last step asked before it. */
    readonly afterStep: number;
  }[];
}

export interface Assessed {
  readonly decision: Decision;
  readonly jointProbability: number;
  /** The step that had been asked for last, and the seatings of the setting by then. */
  readonly afterStep: number;
  readonly seatings: number;
}

export interface JobState {
  readonly job: number;
  readonly profile: MachineProfile;
  readonly serialNumber: string;
  readonly workOrder: string;
  readonly technician: string;
  readonly simulated: boolean;
  /** Of the adjusters, from past jobs. */
  readonly learned?: LearnedGains;
  /** Left out by jobs from before there were sequences. */
  readonly sequence?: 'quick' | 'full';
  readonly readingCosts?: ReadingCosts;
  /** Undefined: not said, so nothing is known of the floor. */
  readonly bay?: BayOfJob;
  /** What was answered when nothing of the bay counted any more. */
  readonly expiredFloor?: 'put aside' | 'kept';
  /** What was put under a wheel because the floor is twisted. */
  readonly shim?: WheelShim | 'none';
  /** Under the laser spot of every tip reading; left out: the bare floor. */
  readonly plate?: TargetPlate;
  readonly cautionsConfirmed: boolean;
  readonly prepared: Readonly<Record<string, 'yes' | 'no' | 'not on this machine' | number>>;
  readonly fixtures: readonly {
    readonly identity: Body<'identity'>;
    /** Of this joining and of those before, for a capture may have waited in the fixture longer than its calibration. */
    readonly calibrations: readonly Body<'calibration'>[];
  }[];
  /** Fixtures that the link has lost and not heard again. */
  readonly lost: readonly string[];
  readonly steps: Readonly<Record<number, StepTarget>>;
  readonly lastStep: number;
  readonly lastPlacement: number;
  readonly lastSeating: number;
  readonly readings: readonly Reading[];
  /** Captures of other jobs that a fixture still held: kept, but not part of this result. */
  readonly foreign: readonly Body<'captured'>[];
  readonly settings: readonly Setting[];
  readonly closed?: Decision;
}

/** Replays the events of one job. Undefined when there are none. */
export function replay(events: Iterable<JobEvent>): JobState | undefined {
  let state: JobState | undefined;
  for (const event of events) state = apply(state, event);
  return state;
}

/** The state after one event more. The event has been admitted (admit.ts) or comes from a log. */
export function apply(state: JobState | undefined, event: JobEvent): JobState {
  if (event.type === 'job opened') return opened(event);
  if (state === undefined) throw new Error('a job begins with being opened');
  switch (event.type) {
    case 'bay chosen':
      return { ...state, bay: { bay: event.bay, on: event.on, turnRounds: event.turnRounds } };
    case 'expired floor':
      return { ...state, expiredFloor: event.answer };
    case 'wheels shimmed':
      return { ...state, shim: event.shim };
    case 'plates laid':
      return { ...state, plate: event.plate };
    case 'cautions confirmed':
      return { ...state, cautionsConfirmed: true };
    case 'prepared':
      return { ...state, prepared: { ...state.prepared, [event.item]: event.answer } };
    case 'fixture joined':
      return joined(state, event.fixture, event.calibrations);
    case 'fixture lost':
      return { ...state, lost: [...state.lost.filter((id) => id !== event.fixtureId), event.fixtureId] };
    case 'step asked':
      return {
        ...state,
        steps: { ...state.steps, [event.step]: event.target },
        lastStep: event.step,
        lastPlacement: event.target.kind === 'tip' ? event.target.placement : state.lastPlacement,
      };
    case 'captured':
      return captured(state, event.fixtureId, event.capture);
    case 'set aside':
      return withReading(state, event, { setAside: event.reason });
    case 'upheld':
      return withReading(state, event, { upheld: true });
    case 'deck seated':
      return { ...state, lastSeating: event.seating, settings: seated(state, event.seating) };
    case 'hanger felt':
      return withSetting(state, (s) => ({ ...s, felt: { ...s.felt, [event.hanger]: event.state } }));
    case 'taken up':
      return withSetting(state, (s) => ({ ...s, takenUp: [...s.takenUp, event.hanger] }));
    case 'assessed':
      return withSetting(state, (s) => {
        const { decision, jointProbability } = event;
        const now = { decision, jointProbability, afterStep: state.lastStep, seatings: s.seatings.length };
        return { ...s, assessed: [...s.assessed, now] };
      });
    case 'turned':
      return withSetting(state, (s) => ({
        ...s,
        turned: [...s.turned, { adjuster: event.adjuster, turns: event.turns }],
      }));
    case 'blade refitted':
      return withSetting(state, (s) => ({
        ...s,
        refits: [
          ...(s.refits ?? []),
          { spindle: event.spindle, answer: event.answer, afterStep: state.lastStep },
        ],
      }));
    case 'turning checked':
      return withSetting(state, (s) => ({ ...s, turningChecked: event.found }));
    case 'tightened':
      return withSetting(state, (s) => ({ ...s, tightened: true }));
    case 'job closed':
      return { ...state, closed: event.decision };
  }
}

/** The setting that is being read now. */
export function currentSetting(state: JobState): Setting | undefined {
  return state.settings.at(-1);
}

/** A reading whose height the host has computed again. */
export type SoundReading = Reading & Required<Pick<Reading, 'calibration'>>;

/** Readings that count: of this job, sound and not set aside. */
export function standing(state: JobState): SoundReading[] {
  return state.readings.filter(
    (r): r is SoundReading => r.setAside === undefined && r.calibration !== undefined,
  );
}

function opened(event: Extract<JobEvent, { type: 'job opened' }>): JobState {
  return {
    job: event.job,
    profile: event.profile,
    serialNumber: event.serialNumber,
    workOrder: event.workOrder,
    technician: event.technician,
    simulated: event.simulated,
    ...(event.sequence === undefined ? {} : { sequence: event.sequence }),
    ...(event.readingCosts === undefined ? {} : { readingCosts: event.readingCosts }),
    ...(event.learned === undefined ? {} : { learned: event.learned }),
    cautionsConfirmed: false,
    prepared: {},
    fixtures: [],
    lost: [],
    steps: {},
    lastStep: 0,
    lastPlacement: 0,
    lastSeating: 0,
    readings: [],
    foreign: [],
    settings: [],
  };
}

function joined(
  state: JobState,
  identity: Body<'identity'>,
  calibrations: readonly Body<'calibration'>[],
): JobState {
  const { fixtureId } = identity;
  const before = state.fixtures.find((f) => f.identity.fixtureId === fixtureId)?.calibrations ?? [];
  const kept = before.filter(
    (b) => !calibrations.some((c) => c.headPosition === b.headPosition && c.version === b.version),
  );
  const fixtures = [
    ...state.fixtures.filter((f) => f.identity.fixtureId !== fixtureId),
    { identity, calibrations: [...kept, ...calibrations] },
  ];
  const waiting = (r: Reading) => r.calibration === undefined && r.fixtureId === fixtureId;
  return {
    ...state,
    fixtures,
    lost: state.lost.filter((id) => id !== fixtureId),
    // The same array as long as nothing in it changes: what is computed from it is kept by it.
    readings: state.readings.some(waiting)
      ? state.readings.map((r) =>
          waiting(r) ? { ...r, ...calibrationOf(fixtures, fixtureId, r.capture) } : r,
        )
      : state.readings,
  };
}

function calibrationOf(
  fixtures: JobState['fixtures'],
  fixtureId: string,
  capture: Body<'captured'>,
): Pick<Reading, 'calibration'> {
  const calibration = fixtures
    .find((f) => f.identity.fixtureId === fixtureId)
    ?.calibrations.find(
      (c) => c.headPosition === capture.headPosition && c.version === capture.calibrationVersion,
    );
  if (calibration === undefined) return {};
  const again = captureHeightUm(calibration, capture);
  return again.distanceUm === capture.distance && again.heightUm === capture.height ? { calibration } : {};
}

function captured(state: JobState, fixtureId: string, capture: Body<'captured'>): JobState {
  const target = state.steps[capture.step];
  if (capture.job !== state.job || target === undefined)
    return { ...state, foreign: [...state.foreign, capture] };
  return {
    ...state,
    readings: [
      ...state.readings,
      {
        step: capture.step,
        target,
        fixtureId,
        capture,
        ...calibrationOf(state.fixtures, fixtureId, capture),
        upheld: false,
      },
    ],
  };
}

function withReading(
  state: JobState,
  which: { fixtureId: string; capture: number },
  change: Partial<Pick<Reading, 'setAside' | 'upheld'>>,
): JobState {
  return {
    ...state,
    readings: state.readings.map((r) =>
      r.fixtureId === which.fixtureId && r.capture.capture === which.capture ? { ...r, ...change } : r,
    ),
  };
}

function withSetting(state: JobState, change: (setting: Setting) => Setting): JobState {
  const last = state.settings.at(-1);
  if (last === undefined) throw new Error('the deck has not been seated yet');
  return { ...state, settings: [...state.settings.slice(0, -1), change(last)] };
}

function seated(state: JobState, seating: number): Setting[] {
  const last = state.settings.at(-1);
  const begins = (stage: Stage): Setting => ({
    stage,
    seatings: [seating],
    felt: {},
    takenUp: [],
    assessed: [],
    turned: [],
    tightened: false,
  });
  if (last === undefined) return [begins('arrival')];
  if (last.tightened) return [...state.settings, begins('after tightening')];
  if (last.turned.length > 0) return [...state.settings, begins('after turning')];
  return [...state.settings.slice(0, -1), { ...last, seatings: [...last.seatings, seating] }];
}
