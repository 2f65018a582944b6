/** What a job is at a moment: everything that its events have said so far. */
import type { Body } from '../../protocol/wire/messages';
import type { BayOfJob } from '../bay/known-floor';
import type { TargetPlate } from '../bay/target-plate';
import type { GaugingKnown } from '../gauging/known';
import type {
  Carried,
  ClaimField,
  Decision,
  ItemAnswer,
  LearnedGains,
  Part,
  ReadingCosts,
  Role,
  Stage,
  StepTarget,
  TurningFinding,
  Use,
  WatchTarget,
  WheelShim,
} from '../ledger/events';
import type { Checklist } from '../machines/checklist';
import type { MachineProfile } from '../machines/profile';

export type TipTarget = Extract<StepTarget, { kind: 'tip' }>;
export type MasterTarget = Extract<StepTarget, { kind: 'master' }>;
export type { WatchTarget };

interface AnyReading {
  readonly step: number;
  readonly target: StepTarget;
  /** Of its fixture, or of the ruler in this job: with `fixtureId` it names the reading. */
  readonly number: number;
  /** Why the technician set it aside; kept on the record all the same. */
  readonly setAside?: string;
  /** The technician was asked about it and says that it is right. */
  readonly upheld: boolean;
}

/** A capture of this job with what it was meant to read. */
export interface FixtureReading extends AnyReading {
  readonly by: 'fixture';
  readonly fixtureId: string;
  readonly capture: Body<'captured'>;
  /**
   * What it was taken with: the calibration on record of its fixture, head and version under which its distance and height
   * come out again. Without one it must not be used (protocol/SPEC.md, section 12).
   */
  readonly calibration?: Body<'calibration'>;
}

/** A height read with a ruler and typed in. */
export interface RulerReading extends AnyReading {
  readonly by: 'ruler';
  readonly fixtureId: typeof RULER;
  readonly heightMm: number;
  /** U (k = 2). */
  readonly expandedMm: number;
}

export type Reading = FixtureReading | RulerReading;

/** Stands where other readings name their fixture. */
export const RULER = 'ruler';

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
  readonly turned: readonly Turned[];
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
  /** Parts that were to be replaced, and blades that were to be swapped for a good one, after this setting was read. */
  readonly decided: readonly Decided[];
  /** Blades on in this setting that are known to be good. */
  readonly goodBlades: readonly string[];
}

export interface Turned {
  readonly adjuster: string;
  readonly turns: number;
  readonly live?: true;
}

export interface Decided {
  readonly spindle: string;
  readonly part: Part | 'good blade on trial';
  readonly answer: 'replaced' | 'swapped' | 'not now';
}

/** How far a tip moved while it was pushed and pulled; `heightsMm` left out: it was not tried. */
export interface Play {
  readonly spindle: string;
  readonly heightsMm?: readonly [low: number, high: number];
}

export interface Assessed {
  readonly decision: Decision;
  readonly jointProbability: number;
  /** The step that had been asked for last, and the seatings of the setting by then. */
  readonly afterStep: number;
  readonly seatings: number;
}

/** What was asked to be read, and of which fixture. */
export interface Asked {
  readonly target: StepTarget;
  readonly fixtureId?: string;
  /** The fixture came off the blade since. */
  readonly clampedAnew?: true;
}

export interface JobState {
  readonly job: number;
  readonly use: Use;
  readonly profile: MachineProfile;
  readonly serialNumber: string;
  readonly workOrder: string;
  /** Whose hands it is in now, and all whose hands it has been in. */
  readonly technician: string;
  readonly technicians: readonly string[];
  readonly role?: Role;
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
  /** What was known of the shop's instruments; left out by jobs from before there was a register. */
  readonly instruments?: GaugingKnown;
  /** Shim under the left caster that would make the casters carry alike; undefined: not checked. */
  readonly casterShimMm?: number;
  readonly checklist?: Checklist;
  readonly carried?: Carried & { readonly answer?: 'the same' | 'one by one' };
  readonly cautionsConfirmed: boolean;
  readonly prepared: Readonly<Record<string, ItemAnswer>>;
  readonly claim: Readonly<Partial<Record<ClaimField, string>>>;
  readonly fixtures: readonly {
    readonly identity: Body<'identity'>;
    /** Of this joining and of those before, for a capture may have waited in the fixture longer than its calibration. */
    readonly calibrations: readonly Body<'calibration'>[];
  }[];
  /** Fixtures that the link has lost and not heard again. */
  readonly lost: readonly string[];
  /** Fixtures that somebody says are off the machine, without a closing reading. */
  readonly accountedFor: Readonly<Record<string, { readonly by: string; readonly reason: string }>>;
  /** Tips are read with a ruler from now on. */
  readonly ruler?: { readonly expandedMm: number };
  readonly steps: Readonly<Record<number, Asked>>;
  readonly lastStep: number;
  readonly lastPlacement: number;
  readonly lastSeating: number;
  readonly readings: readonly Reading[];
  /** Captures of other jobs that a fixture still held: kept, but not part of this result. */
  readonly foreign: readonly Body<'captured'>[];
  readonly settings: readonly Setting[];
  readonly plays: readonly Play[];
  readonly liveTurning: boolean;
  /** Whether a machine that was not to be levelled is levelled after all. */
  readonly levelling?: 'level it now' | 'leave it';
  readonly givenUp?: string;
  readonly closed?: Decision;
  readonly reopened: readonly { readonly by: string; readonly reason: string }[];
  /** Reopened with the machine back in a bay, and not seated since. */
  readonly toReadAgain: boolean;
}

/** A reading that may be used: from a ruler, or one whose height the host has computed again. */
export type SoundReading = SoundFixtureReading | RulerReading;
export type SoundFixtureReading = FixtureReading & Required<Pick<FixtureReading, 'calibration'>>;
