/**
 * Everything that can happen to a job, as it is written to the ledger. Nothing else is stored: state, result and sheet
 * are computed from these. Events are appended, never changed; a mistake is put right by another event.
 */
import type { Body } from '../../protocol/wire/messages';
import type { Bay, Day } from '../bay/bay';
import type { SwingCheck } from '../bay/caster-swing';
import type { BayBias, FloorSum } from '../bay/turn-round';
import type { TargetPlate } from '../bay/target-plate';
import type { MachineProfile } from '../machines/profile';

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
  | { readonly kind: 'master'; readonly edge: 'low' | 'high'; readonly when: 'opening' | 'closing' };

/** Seconds: going to another blade end, turning a blade, raising the deck for a clamping (or seating it anew), a capture. */
export interface ReadingCosts {
  readonly clampS: number;
  readonly turnS: number;
  readonly raiseClampS: number;
  readonly captureS: number;
}

export type JobEvent =
  | {
      readonly type: 'job opened';
      readonly job: number;
      readonly use: 'levelling';
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
  | { readonly type: 'cautions confirmed'; readonly job: number; readonly cautions: readonly string[] }
  | {
      readonly type: 'prepared';
      readonly job: number;
      readonly item: string;
      readonly answer: 'yes' | 'no' | 'not on this machine' | number;
    }
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
  | { readonly type: 'step asked'; readonly job: number; readonly step: number; readonly target: StepTarget }
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
    }
  | { readonly type: 'turned'; readonly job: number; readonly adjuster: string; readonly turns: number }
  | { readonly type: 'turning checked'; readonly job: number; readonly found: TurningFinding }
  | { readonly type: 'tightened'; readonly job: number }
  | { readonly type: 'job closed'; readonly job: number; readonly decision: Decision };

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

export type LogEvent = JobEvent | BayEvent;

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

/** Which set of readings: as the machine came, after a round of turning, after tightening. */
export type Stage = 'arrival' | 'after turning' | 'after tightening';
export type Decision = 'pass' | 'fail' | 'undecided';

/** An event as it stands in a log. */
export interface StoredEvent<E extends LogEvent = JobEvent> {
  readonly writer: string;
  /** 1, 2, 3, ... in each writer's log. */
  readonly sequence: number;
  /** Wall-clock time of the host, ISO 8601 in UTC, with milliseconds. */
  readonly at: string;
  readonly event: E;
  /** SHA-256 over previous hash and this event, hexadecimal. */
  readonly hash: string;
}
