/**
 * What the solver is told: a machine's layout, readings, widths and questions.
 *
 * Machine frame after ISO 8855: x forward, y left, z up, origin on the ground midway between the drive wheels. Headings of
 * a blade tip count counter-clockwise seen from above, 0 forward, 90 left. Spindles, wheels, hangers and adjusters are
 * known by their place in the list, from 0.
 */

export interface Point {
  readonly xMm: number;
  readonly yMm: number;
}

export interface Spindle extends Point {
  readonly tipRadiusMm: number;
}

/** How the wheels make a plane of the floor: see `ground.ts`. */
export type GroundPlane = 'pivoting front axle' | 'rigid four wheels' | 'three wheels';

export interface Wheel extends Point {
  /** Share of the weight; all wheels alike where it is left out. */
  readonly loadShare?: number | undefined;
}

export interface Layout {
  readonly spindles: readonly Spindle[];
  readonly wheels: readonly Wheel[];
  readonly groundPlane: GroundPlane;
  /** Where the laser spot lies from the tip, in the fixture's shape; left out: under it. */
  readonly spotOffset?: SpotOffset;
  /** What is known of the floor that the machine stands on; left out: nothing but its widths. */
  readonly surveyed?: SurveyedFloor;
  /** How well the geometry above is known; left out: as well as the maker drew it. */
  readonly uncertaintyMm?: TapeUncertainty | undefined;
}

/** Standard deviations of a geometry taken with a tape: of each coordinate, and of the blades' tip radius. */
export interface TapeUncertainty {
  readonly spindleMm: number;
  readonly tipRadiusMm: number;
  readonly wheelMm: number;
}

/** Along the blade away from the hub, and to the left as seen from the hub. */
export interface SpotOffset {
  readonly outwardMm: number;
  readonly leftMm: number;
}

/** Where the machine's origin stands in the bay and where its x axis points there, with standard deviations. */
export interface Parking extends Point {
  readonly headingDeg: number;
  readonly xSdMm: number;
  readonly ySdMm: number;
  readonly headingSdDeg: number;
}

/** What a survey found, in the bay's own frame: weighted sums of floor heights (mostly single points) with covariance. */
export interface SurveyedFloor {
  readonly rows: readonly {
    readonly places: readonly (Point & { readonly weight: number })[];
    readonly valueMm: number;
  }[];
  /** Of the values, lower triangle by rows. A height common to all points cancels. */
  readonly covariance: readonly (readonly number[])[];
  readonly parking: Parking;
  /** Standard deviation of the floor's slope along each axis before the rows are seen; left out: 5 in 100. */
  readonly slopeSd?: number;
}

/** One capture on a blade tip. */
export interface TipReading {
  readonly spindle: number;
  /** Where the clamped blade end points. */
  readonly headingDeg: number;
  /** The blade end with the paint mark is A = 1, the other B = -1. */
  readonly end: 1 | -1;
  /** True once the blade has been refitted half a turn round on its spindle. */
  readonly refitted: boolean;
  /** Number of the lowering onto the stop that the deck was in. */
  readonly seating: number;
  /** Number of the clamping: captures with the same number share one clamping. */
  readonly placement: number;
  /** Which fixture read it: those of one share its zero. Left out: the first, 0. */
  readonly instrument?: number;
  /** Height of the cutting edge over the floor under the spot, as read. */
  readonly heightMm: number;
  /** Standard error of that mean: the part that falls with repeats. */
  readonly standardErrorMm: number;
  /** Where the laser spot lies when that was marked (a mark, a target plate); otherwise by the fixture's shape, as well as it was pointed. */
  readonly spot?: Point;
}

/** Standard deviations of everything that disturbs a reading. A width may be 0. */
export interface Widths {
  /** One clamping of the fixture. */
  readonly placementMm: number;
  /** Texture of the floor under one spot: new at every pointing of a blade, unless the spot is given. */
  readonly textureMm: number;
  /** Unevenness of the floor, and the distance over which it is alike. */
  readonly floorMm: number;
  readonly floorLengthMm: number;
  /** Slope of an unsurveyed floor along each axis: shows where a spot does not lie under its tip. Left out: level. */
  readonly floorSlopeRad?: number;
  /** The fixture's zero, common to all readings. */
  readonly offsetMm: number;
  /** The fixture's scale, relative, counted from `heightReferenceMm`, where it was calibrated. */
  readonly gain: number;
  readonly heightReferenceMm: number;
  /** Height of a blade's tip circle against the shell. */
  readonly spindleHeightMm: number;
  /** Tilt of a spindle against the shell, forward and sideways each. */
  readonly spindleTiltRad: number;
  /** Half the difference of a blade's two ends. */
  readonly bendMm: number;
  /** The same from a bent shaft or a dirty hub face: stays with the spindle when the blade is refitted. */
  readonly shaftMm: number;
  /** One lowering of the deck onto its stop: height at the middle of the spindles, and slope forward and sideways each. */
  readonly seatingHeightMm: number;
  readonly seatingSlopeRad: number;
  /** Setting a blade to its heading, each time by itself; and what all settings of a job have alike. Left out: nothing. */
  readonly headingDeg: number;
  readonly headingHabitDeg?: number;
  /** Twist of the shell: height over (x y) from the middle of the spindles. Left out: a stiff shell. */
  readonly shellTwistMmPerM2?: number;
}

export interface MeasureLimits {
  readonly name: string;
  readonly targetMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
}

export interface TipTerm {
  readonly spindle: number;
  readonly headingDeg: number;
  readonly weight: number;
}

/** A weighted sum of tip heights, each the mean of the blade's two ends. */
export interface TipsQuestion extends MeasureLimits {
  readonly what: 'tips';
  readonly terms: readonly TipTerm[];
}

/** Height of end A above end B at the same heading, as the blade was fitted at the spindle's last reading. */
export interface BendQuestion extends MeasureLimits {
  readonly what: 'bend';
  readonly spindle: number;
}

export type MeasureQuestion = TipsQuestion | BendQuestion;
