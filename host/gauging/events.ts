/** What happens to instruments between jobs. These events stand in the log beside the jobs and belong to none. */
import type { Body } from '../../protocol/wire/messages';
import type { CalibrationRecord } from './calibration/record';
import type { Day, Equipment } from './equipment';
import type { HeightMaster } from './height-master';
import type { PlacementStudy } from './study/accept';

/** What one reading of a session is of. */
export type GaugingTarget =
  | { readonly kind: 'tip'; readonly tip: string; readonly technician: string; readonly repeat: number }
  | {
      readonly kind: 'edge';
      readonly head: 0 | 1;
      /** As its certificate has it. */
      readonly edgeMm: number;
      /** Gauge block on the plate under the spot; 0 for none. */
      readonly blockMm: number;
      /** The master with the fixture on it, turned so far on its shelf. */
      readonly turnDeg: number;
      /** Seated as for the step before: only the master was turned. */
      readonly sameSeat?: true;
      /** Fixture and master were brought to another temperature before it. */
      readonly elsewhere?: true;
    };

export type SessionUse = 'study' | 'calibration' | 'check';

/**
 * A session shares its numbers with the jobs: its captures are `captured` events with its number as job. Everything that it
 * is computed from stands in `session opened`, so that it comes out the same whenever it is looked at.
 */
export interface SessionOpened {
  readonly type: 'session opened';
  readonly session: number;
  readonly use: SessionUse;
  readonly on: Day;
  readonly technician: string;
  readonly simulated: boolean;
  readonly fixture: Body<'identity'>;
  /** As the fixture held them at the beginning. */
  readonly calibrations: readonly Body<'calibration'>[];
  readonly master: HeightMaster;
  /** Reference equipment that was used, as registered. */
  readonly references: readonly Equipment[];
  /** Step n is the nth of these. */
  readonly steps: readonly GaugingTarget[];
  /** Of a study: the seed of its order. */
  readonly seed?: number;
  /** Of a calibration: for how many days it counts. */
  readonly days?: number;
}

export type GaugingEvent =
  | { readonly type: 'equipment registered'; readonly equipment: Equipment; readonly on: Day }
  | { readonly type: 'equipment withdrawn'; readonly id: string; readonly on: Day; readonly reason: string }
  | SessionOpened
  | {
      readonly type: 'step left out';
      readonly session: number;
      readonly step: number;
      readonly reason: string;
    }
  | { readonly type: 'session closed'; readonly session: number }
  | { readonly type: 'study accepted'; readonly on: Day; readonly by: string; readonly width: PlacementStudy }
  | {
      readonly type: 'calibration written';
      readonly session: number;
      readonly record: CalibrationRecord;
      /** As read back from the fixture. */
      readonly calibrations: readonly Body<'calibration'>[];
    };
