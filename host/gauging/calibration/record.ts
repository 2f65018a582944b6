/** What a calibration found: the calibrations to be written, how good they are, and from what that follows. */
import type { Body } from '../../../protocol/wire/messages';
import type { Day, Equipment } from '../equipment';
import type { Budget } from '../statistics/budget';

/** One known height and what the new calibration makes of it. */
export interface CalibrationPoint {
  readonly head: 0 | 1;
  readonly edgeMm: number;
  readonly blockMm: number;
  readonly heightMm: number;
  readonly readings: number;
  /** Mean of the readings by the old calibration less the known height. */
  readonly foundMm: number;
  /** The same by the new one. */
  readonly leftMm: number;
}

export interface CalibrationRecord {
  readonly fixtureId: string;
  readonly firmwareVersion: string;
  readonly on: Day;
  readonly due: Day;
  readonly by: string;
  readonly simulated: boolean;
  readonly references: readonly Equipment[];
  /** A head position had none before: what was found is what a drawing and a data sheet are off. */
  readonly first?: true;
  /** Degree of the curve. */
  readonly degree: number;
  readonly points: readonly CalibrationPoint[];
  /** Standard deviation of one reading, seated anew, about the curve, and its degrees of freedom. */
  readonly sMm: number;
  readonly degreesOfFreedom: number;
  /** Where the high head's edge was found to lie higher than the old calibration said. */
  readonly highHeadOffsetMm?: number;
  /** How much more the high head gains than the low one, with its standard uncertainty. */
  readonly gainDifference?: { readonly value: number; readonly standardUncertainty: number };
  /** Zero of the motion part, ug, and slope of the shelf that the master stood on, mm/m. */
  readonly gravityBiasUg: readonly [number, number, number];
  readonly shelfMmPerM: readonly [number, number];
  readonly temperature: {
    readonly meanC: number;
    readonly spanC: number;
    /** Relative change of the distance for each degree, as written, and whether this calibration measured it. */
    readonly perC: number;
    readonly measured: boolean;
  };
  /** Of a height near either end and in the middle of each head's range. */
  readonly budgets: readonly { readonly head: 0 | 1; readonly heightMm: number; readonly budget: Budget }[];
  /** Greatest expanded uncertainty and greatest error left. */
  readonly worstExpandedMm: number;
  readonly worstLeftMm: number;
  /** What is beyond its limit; a calibration with any is not written. */
  readonly faults: readonly string[];
  readonly calibrations: readonly Body<'calibration'>[];
}

/** Expanded uncertainty of a height, error left at a known height, spread of a reading, gain of one head against the other. Shop limits, no source. */
export const CALIBRATION_LIMITS = {
  expandedMm: 0.15,
  leftMm: 0.1,
  spreadMm: 0.1,
  gainDifference: 0.002,
  shelfMmPerM: 5,
} as const;

/** Days for which a calibration counts unless another number is said. Common practice, no source. */
export const CALIBRATION_DAYS = 365;
