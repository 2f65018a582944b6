/**
 * Everything that can happen to a job, as it is written to the ledger. Nothing else is stored: state, result and sheet
 * are computed from these. Events are appended, never changed; a mistake is put right by another event.
 */
import type { Body } from '../../protocol/wire/messages';
import type { Bay, Day } from '../bay/bay';
import type { SwingCheck } from '../bay/caster-swing';
import type { BayBias, FloorSum } from '../bay/turn-round';
import type { TargetPlate } from '../bay/target-plate';
import type { Checklist } from '../machines/checklist';
import type { GaugingEvent } from '../gauging/events';
import type { GaugingKnown } from '../gauging/known';
import type { MachineProfile } from '../machines/profile';
import type { LogKeepingEvent, RecordEvent } from './record-events';

/** What a job is for: each is a path through the same procedure. */
export type Use = 'inspection' | 'levelling' | 'diagnosis' | 'warranty';

/** What one step of the job asks to be read. */
export type StepTarget =
  | {
      readonly kind: 'tip';
      readonly spindle: string;
      /** Where the clamped blade end points. */
      readonly headingDeg: number;
      /** The blade end with the paint mark is A. */
      readonly end: 'A' | 'B';
      /** Counts how often the deck was lowered onto its stop in this job. */
      readonly seating: number;
      /** Counts how often the fixture was clamped in this job; readings with the same number share one clamping. */
      readonly placement: number;
      /** The blade has been refitted half a turn round on its spindle since the job began. */
      readonly refitted?: true;
    }
  | { readonly kind: 'master'; readonly edge: 'low' | 'high'; readonly when: 'opening' | 'closing' }
  | WatchTarget;

/** A tip whose height is watched while something is done: an adjuster is turned, the blade is pushed and pulled. */
export interface WatchTarget {
  readonly kind: 'watch';
  readonly spindle: string;
  readonly headingDeg: number;
  readonly end: 'A' | 'B';
  readonly seating: number;
  readonly placement: number;
  /** `turning N`: the Nth turn of the round in hand. */
  readonly during: `turning ${number}` | 'push and pull';
  readonly when: 'start' | 'end';
}

/** Seconds: going to another blade end, turning a blade, raising the deck for a clamping (or seating it anew), a capture. */
export interface ReadingCosts {
  readonly clampS: number;
  readonly turnS: number;
  readonly raiseClampS: number;
  readonly captureS: number;
}

/** What is written down for an item of the preparation or of a shop's checklist. */
export type ItemAnswer =
  'yes' | 'no' | 'not on this machine' | number | { readonly chosen: string } | { readonly noted: string };

/** What a warranty examiner asks besides the readings. */
export type ClaimField = 'complaint' | 'hour meter' | 'delivered on' | 'cause' | 'correction' | 'parts';

/** Answers of the machine before in a batch, offered for this one. */
export interface Carried {
  readonly fromJob: number;
  readonly fromSerial: string;
  readonly answers: Readonly<Record<string, ItemAnswer>>;
}

/** A measure as a result was decided on; without numbers where the readings did not determine it. */
export interface AssessedMeasure {
  readonly name: string;
  readonly valueMm?: number;
  readonly standardUncertaintyMm?: number;
  /** That it keeps its limits. */
  readonly probability?: number;
}

/** A part that a fault was found in. */
export type Part = 'blade' | 'shaft or hub' | 'spindle';

export type JobEvent =
  | {
      readonly type: 'job opened';
      readonly job: number;
      readonly use: Use;
      readonly profile: MachineProfile;
      readonly serialNumber: string;
      readonly workOrder: string;
      readonly technician: string;
      /** True when the shop is simulated: every output says so. */
      readonly simulated: boolean;
      /** By which sequence its tips are read; left out by jobs from before there were sequences. */
      readonly sequence?: 'quick' | 'full';
      /** Seconds that the parts of a reading take in this shop; left out: assumed ones. */
      readonly readingCosts?: ReadingCosts;
      /** What past jobs had taught of this model's and machine's adjusters; left out: nothing. */
      readonly learned?: LearnedGains;
      /** What the technician may do besides measuring; left out: a technician. */
      readonly role?: Role;
      /** The shop's own list for this use. */
      readonly checklist?: Checklist;
      /** Shim under the left caster that made this machine's casters carry alike, by the newest pull-scale check in the log. */
      readonly casterShimMm?: number;
      /** The machine before in a batch of one model. */
      readonly carried?: Carried;
    }
  | {
      /** Where the job is measured, before the first reading: the whole of what was known of its floor on that day. */
      readonly type: 'bay chosen';
      readonly job: number;
      readonly bay: Bay;
      readonly on: Day;
      readonly turnRounds: readonly FloorSum[];
    }
  | {
      /** What once was known of the bay's floor has expired: judged without it from now on, or kept to and not passed. */
      readonly type: 'expired floor';
      readonly job: number;
      readonly answer: 'put aside' | 'kept';
    }
  | {
      /** The floor under a rigid frame is twisted beyond the bay's limit: the shim that was put under one wheel, or none. */
      readonly type: 'wheels shimmed';
      readonly job: number;
      readonly shim: WheelShim | 'none';
    }
  /** Before the first reading: every tip of this job is read over such a plate. */
  | { readonly type: 'plates laid'; readonly job: number; readonly plate: TargetPlate }
  | {
      /** What was known of the shop's instruments on that day, before the first reading. */
      readonly type: 'instruments known';
      readonly job: number;
      readonly known: GaugingKnown;
    }
  | { readonly type: 'cautions confirmed'; readonly job: number; readonly cautions: readonly string[] }
  | {
      /** The answers that were offered from the machine before hold here too, or are asked one by one. */
      readonly type: 'carried over';
      readonly job: number;
      readonly answer: 'the same' | 'one by one';
    }
  | {
      /** An answer given again replaces the one before; both stay on the record. */
      readonly type: 'prepared';
      readonly job: number;
      readonly item: string;
      readonly answer: ItemAnswer;
    }
  | { readonly type: 'claim stated'; readonly job: number; readonly field: ClaimField; readonly text: string }
  | {
      readonly type: 'fixture joined';
      readonly job: number;
      readonly fixture: Body<'identity'>;
      readonly calibrations: readonly Body<'calibration'>[];
    }
  | {
      readonly type: 'fixture lost';
      readonly job: number;
      readonly fixtureId: string;
      readonly error: number;
    }
  | {
      /** Somebody has this fixture in hand, off the machine, although it took no closing reading: a named override. */
      readonly type: 'fixture accounted for';
      readonly job: number;
      readonly fixtureId: string;
      readonly by: string;
      readonly reason: string;
    }
  | {
      readonly type: 'step asked';
      readonly job: number;
      readonly step: number;
      readonly target: StepTarget;
      /** Which fixture is to read it; left out by jobs from before there could be two, and for the ruler. */
      readonly fixtureId?: string;
    }
  | {
      /** From now on tips are read with a ruler and typed in: no fixture is to be had. */
      readonly type: 'ruler taken up';
      readonly job: number;
      /** U (k = 2) of one height so read. */
      readonly expandedMm: number;
    }
  | { readonly type: 'ruler read'; readonly job: number; readonly step: number; readonly heightMm: number }
  | {
      /** Since this step was asked the fixture came off the blade and was set on again: its next reading is of another clamping. */
      readonly type: 'clamped anew';
      readonly job: number;
      readonly step: number;
    }
  | {
      readonly type: 'captured';
      /** Job in hand when it arrived; the capture's own `job` may be another: then it does not enter this result. */
      readonly job: number;
      readonly fixtureId: string;
      readonly capture: Body<'captured'>;
    }
  | {
      readonly type: 'set aside';
      readonly job: number;
      readonly fixtureId: string;
      readonly capture: number;
      readonly reason: string;
    }
  | { readonly type: 'upheld'; readonly job: number; readonly fixtureId: string; readonly capture: number }
  | {
      /** Takes a `set aside` back. */
      readonly type: 'restored';
      readonly job: number;
      readonly fixtureId: string;
      readonly capture: number;
      readonly reason: string;
    }
  | {
      /** The reading was of another tip than was asked for. */
      readonly type: 'tip corrected';
      readonly job: number;
      readonly fixtureId: string;
      readonly capture: number;
      readonly spindle: string;
      readonly headingDeg: number;
      readonly end: 'A' | 'B';
    }
  | {
      readonly type: 'blade refitted';
      readonly job: number;
      readonly spindle: string;
      /** `not now`: the technician was asked and left the blade as it is. */
      readonly answer: 'half a turn round' | 'not now';
    }
  | { readonly type: 'deck seated'; readonly job: number; readonly seating: number }
  | {
      readonly type: 'hanger felt';
      readonly job: number;
      readonly hanger: string;
      readonly state: 'carrying' | 'slack';
    }
  | { readonly type: 'taken up'; readonly job: number; readonly hanger: string }
  | {
      readonly type: 'assessed';
      readonly job: number;
      readonly stage: Stage;
      readonly decision: Decision;
      readonly jointProbability: number;
      /** The numbers behind it, in the profile's order; left out by jobs from before they were kept. */
      readonly measures?: readonly AssessedMeasure[];
    }
  | {
      readonly type: 'turned';
      readonly job: number;
      readonly adjuster: string;
      readonly turns: number;
      /** Turned by the live height or by feel, so that nobody counted: `turns` is what the ratio makes of it. */
      readonly live?: true;
    }
  | {
      /** What was really turned of it since the last readings, in all. */
      readonly type: 'turn corrected';
      readonly job: number;
      readonly adjuster: string;
      readonly turns: number;
    }
  | { readonly type: 'live turning'; readonly job: number; readonly on: boolean }
  | { readonly type: 'turning checked'; readonly job: number; readonly found: TurningFinding }
  | {
      readonly type: 'pushed and pulled';
      readonly job: number;
      readonly spindle: string;
      /** Lowest and highest live height of the tip meanwhile; left out: the technician left it. */
      readonly lowMm?: number;
      readonly highMm?: number;
    }
  | {
      /** A blade known to be good was put on in place of this spindle's own: what stays bent is the shaft. */
      readonly type: 'blade swapped';
      readonly job: number;
      readonly spindle: string;
      readonly answer: 'swapped' | 'not now';
    }
  | {
      readonly type: 'part decided';
      readonly job: number;
      readonly spindle: string;
      readonly part: Part;
      readonly answer: 'replaced' | 'not now';
    }
  | {
      /** A machine that came to be inspected or diagnosed is out of its limits: is it levelled in this job? */
      readonly type: 'levelling offered';
      readonly job: number;
      readonly answer: 'level it now' | 'leave it';
    }
  | { readonly type: 'tightened'; readonly job: number }
  | { readonly type: 'handed over'; readonly job: number; readonly to: string; readonly role?: Role }
  | {
      /** The job ends without a result; its fixtures still take their closing readings. */
      readonly type: 'given up';
      readonly job: number;
      readonly reason: string;
    }
  | { readonly type: 'job closed'; readonly job: number; readonly decision: Decision }
  | {
      readonly type: 'job reopened';
      readonly job: number;
      readonly by: string;
      readonly reason: string;
      /** The machine is back in a bay and is read once more; otherwise only the record is put right. */
      readonly toReadAgain?: true;
    }
  | RecordEvent;

/** What happens to a bay between jobs. These stand in the log beside the jobs and belong to none. */
export type BayEvent =
  | { readonly type: 'bay surveyed'; readonly bay: Bay }
  | {
      readonly type: 'bay turned round';
      readonly bayName: string;
      readonly on: Day;
      readonly jobs: readonly [number, number];
      readonly biases: readonly BayBias[];
      readonly sums: readonly FloorSum[];
    }
  | {
      readonly type: 'casters swung';
      readonly bayName: string;
      readonly serialNumber: string;
      readonly checks: readonly SwingCheck[];
      /** Shim under the left caster that makes them carry alike; left out while the checks do not tell. */
      readonly equalShimMm?: number;
    };

export type { GaugingEvent, LogKeepingEvent, RecordEvent };
export type { CustomerField, SeenHead } from './record-events';

/** Who works here, and what they may do besides measuring. */
export interface PeopleEvent {
  readonly type: 'technician registered';
  readonly name: string;
  readonly role: Role;
  /** The badge or PIN is not kept: only what it comes to with this salt (scrypt, RFC 7914), both hexadecimal. */
  readonly salt: string;
  readonly proof: string;
}

export type Role = 'technician' | 'lead';

/** What happens between jobs: to bays, instruments, people and the log. It stands in the log and belongs to no job. */
export type ShopEvent = BayEvent | GaugingEvent | PeopleEvent | LogKeepingEvent;

export type LogEvent = JobEvent | ShopEvent;

/** A shim of this thickness under this wheel. */
export interface WheelShim {
  readonly wheel: string;
  readonly heightMm: number;
}

/** Real over nominal mm per turn of each adjuster, and from how many past jobs that is known. */
export interface LearnedGains {
  readonly jobs: number;
  readonly adjusters: readonly {
    readonly adjuster: string;
    readonly factor: number;
    readonly standardUncertainty: number;
  }[];
}

/** What a round of turning was found to have been when it did not come out as asked. */
export type TurningFinding =
  | { readonly what: 'as said' }
  | { readonly what: 'nothing moved' }
  | { readonly what: 'did not move' | 'wrong way'; readonly adjuster: string }
  | { readonly what: 'other adjuster'; readonly adjuster: string; readonly instead: string };

/** Which set of readings: as the machine came, after a round of turning, after tightening, after a part was replaced, when the job was opened again. */
export type Stage = 'arrival' | 'after turning' | 'after tightening' | 'after repair' | 'read again';
export type Decision = 'pass' | 'fail' | 'undecided';

/** An event as it stands in a log. */
export interface StoredEvent<E extends LogEvent = JobEvent> {
  readonly writer: string;
  /** 1, 2, 3, ... in each writer's log. */
  readonly sequence: number;
  /** Wall-clock time of the host, ISO 8601 in UTC, with milliseconds. */
  readonly at: string;
  readonly event: E;
  /** SHA-256 over this event and the hashes of those before it, hexadecimal (chain.ts). */
  readonly hash: string;
}
