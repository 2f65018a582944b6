import type { Random } from './random';

/**
 * How imperfect the simulated world is: every width and every duration by name. All are invented distributions that a
 * campaign varies; `sd` is a standard deviation of a normal distribution with mean 0.
 */
export interface Population {
  /** Floor: sd of its height about its slope in a decent bay. */
  readonly floorSdMm: number;
  /** Floor: length scale L of its unevenness; two spots d apart correlate as exp(-d² / (2 L²)). */
  readonly floorCorrelationMm: number;
  /** Floor: sd of its slope along each axis, mm per mm (drainage). */
  readonly floorSlopeSd: number;
  /** Floor: sd of the fine texture under one laser spot. */
  readonly textureSdMm: number;
  /** Floor: size of the grain of the texture; spots much closer than this see the same texture. */
  readonly textureGrainMm: number;
  /** Floor: step of the slab at a joint straight across the bay, forward of it higher, and where the joint lies. */
  readonly floorJointStepMm: number;
  readonly floorJointAtMm: number;
  /** Floor: shiny patches per square metre, where the distance noise is large. */
  readonly glarePatchesPerM2: number;
  /** Laser: sd of the noise of one distance sample on plain floor. */
  readonly speckleMm: number;
  /** Laser: the same on a shiny patch. */
  readonly glareMm: number;

  /** A matt, flat target plate under every laser spot: its true thickness, and its side; thickness 0: the bare floor. */
  readonly plateMm: number;
  readonly plateSideMm: number;

  /** Parking: sd of the position across and along the bay. */
  readonly parkingSdMm: number;
  /** Parking: sd of the heading. */
  readonly parkingHeadingSdDeg: number;

  /** Linkage: sd of the error that a turn of the adjusters could undo, in mm at the hangers: the adjustment fault. */
  readonly hangerErrorSdMm: number;
  /** Linkage: sd of what each hanger is off besides (chain and bracket tolerances). */
  readonly hangerToleranceSdMm: number;
  /** Linkage: relative sd of the true mm per turn about the nominal one. */
  readonly ratioSd: number;
  /** Linkage: turns that do nothing after the direction of turning was reversed. */
  readonly backlashTurns: number;
  /** Linkage: how far friction lets a hanger stay behind its nut until the deck is pressed down and released. */
  readonly frictionMm: number;
  /** Linkage: sd of how far each hanger shifts when lock nuts are tightened. */
  readonly tightenShiftSdMm: number;

  /** Spindle: sd of the height of the hub against the shell. */
  readonly spindleHeightSdMm: number;
  /** Spindle: sd of the tilt about each axis, rad. */
  readonly spindleTiltSd: number;
  /** Blade: sd of half the height difference of its two ends. */
  readonly bendSdMm: number;

  /** Seating: sd of the deck's height, each time it is lowered onto its stop. */
  readonly seatingHeightSdMm: number;
  /** Seating: sd of the deck's slope along each axis, each time. */
  readonly seatingSlopeSd: number;

  /** Clamp: sd of the placement along the beam, one draw per clamping. */
  readonly placementSdMm: number;
  /** Clamp: how much too high this technician's clampings sit, all alike. */
  readonly placementBiasMm: number;
  /** Clamp: share of one clamping's error that is met again in the next. */
  readonly placementCarryOver: number;
  /** Clamp: probability of a chip under it, and how much the fixture then sits too high on average, exponential. */
  readonly chipProbability: number;
  readonly chipMeanMm: number;
  /** Clamp: sd of the fixture's tilt about each of its axes. */
  readonly fixtureTiltSdDeg: number;
  /** Clamp: sd of the position along the blade. */
  readonly alongBladeSdMm: number;
  /** Technician: sd of the blade's heading about the one asked for. */
  readonly headingSdDeg: number;
  /** Technician: how far to the left he sets every blade, from where he kneels. */
  readonly headingBiasDeg: number;
  /** Technician: probability of pointing the blade a quarter turn off what was asked for. */
  readonly wrongHeadingProbability: number;
  /** Technician: probability of clamping on another tip than the one asked for. */
  readonly wrongTipProbability: number;
  /** Technician: probability of knocking the fixture while turning the blade with it. */
  readonly knockProbability: number;
  /** Technician: sd of the shift of a knocked fixture along the beam. */
  readonly knockSdMm: number;
  /** Technician: sd of where a turned nut is left, in turns. */
  readonly turnSettingSdTurns: number;
  /** Technician: sd of the count that each whole turn adds, in turns. */
  readonly turnCountSdTurns: number;
  /** Technician: sd of the height at which a hanger set by feel just carries. */
  readonly feelSdMm: number;
  /** Technician: slack below this feels as if it carried. */
  readonly feelThresholdMm: number;

  /** Height master: heights of its edges above its plate, low and high, for each pinned position of the head. */
  readonly masterEdgesMm: readonly [MasterEdges, MasterEdges];
  /** Height master: sd of how the fixture sits on it, along the beam. */
  readonly masterPlacementSdMm: number;
  /** Height master: sd of the fixture's tilt on it about each axis. */
  readonly masterTiltSdDeg: number;

  readonly temperatureC: number;
  /** Sd of the bay's temperature about the one above. */
  readonly temperatureSdC: number;

  /** How far a sound bearing lets the tip be pushed and pulled. */
  readonly playMm: number;
  /** A height read with a ruler on one's knees, besides its rounding to half a millimetre. */
  readonly rulerSdMm: number;
  /** Reading the gaps under a straightedge. */
  readonly wedgeSdMm: number;

  /** Time that each act takes, ms. */
  readonly clampMs: number;
  readonly turnBladeMs: number;
  readonly pressMs: number;
  readonly masterMs: number;
  readonly takeOffMs: number;
  readonly fetchWrenchMs: number;
  readonly perTurnMs: number;
  readonly feelMs: number;
  readonly seatMs: number;
  readonly tightenMs: number;
}

export interface MasterEdges {
  readonly low: number;
  readonly high: number;
}

/** A decent bay, ordinary machines with an adjustment fault, a careful technician. Invented. */
export const POPULATION: Population = {
  floorSdMm: 1.0,
  floorCorrelationMm: 1500,
  floorSlopeSd: 0.002,
  textureSdMm: 0.1,
  textureGrainMm: 5,
  floorJointStepMm: 0,
  floorJointAtMm: 0,
  glarePatchesPerM2: 0,
  speckleMm: 0.05,
  glareMm: 1.0,

  plateMm: 0,
  plateSideMm: 100,

  parkingSdMm: 20,
  parkingHeadingSdDeg: 1,

  hangerErrorSdMm: 5,
  hangerToleranceSdMm: 0,
  ratioSd: 0.03,
  backlashTurns: 0.02,
  frictionMm: 0,
  tightenShiftSdMm: 0.1,

  spindleHeightSdMm: 0.2,
  spindleTiltSd: 0.0005,
  bendSdMm: 0.3,

  seatingHeightSdMm: 0.15,
  seatingSlopeSd: 0.0003,

  placementSdMm: 0.25,
  placementBiasMm: 0,
  placementCarryOver: 0,
  chipProbability: 0,
  chipMeanMm: 0.5,
  fixtureTiltSdDeg: 2,
  alongBladeSdMm: 2,
  headingSdDeg: 5,
  headingBiasDeg: 0,
  wrongHeadingProbability: 0,
  wrongTipProbability: 0,
  knockProbability: 0,
  knockSdMm: 1.5,
  turnSettingSdTurns: 0.03,
  turnCountSdTurns: 0.005,
  feelSdMm: 0.1,
  feelThresholdMm: 0.3,

  masterEdgesMm: [
    { low: 35, high: 85 },
    { low: 75, high: 125 },
  ],
  masterPlacementSdMm: 0.02,
  masterTiltSdDeg: 0.3,

  temperatureC: 20,
  temperatureSdC: 4,

  playMm: 0.1,
  rulerSdMm: 0.5,
  wedgeSdMm: 0.2,

  clampMs: 25_000,
  turnBladeMs: 6_000,
  pressMs: 300,
  masterMs: 10_000,
  takeOffMs: 8_000,
  fetchWrenchMs: 15_000,
  perTurnMs: 3_000,
  feelMs: 3_000,
  seatMs: 45_000,
  tightenMs: 40_000,
};

/** Acts that are over at once: nobody wants to wait for a technician who is not there. */
export const IN_A_HURRY = {
  clampMs: 1500,
  turnBladeMs: 1000,
  masterMs: 1500,
  takeOffMs: 500,
  fetchWrenchMs: 200,
  perTurnMs: 100,
  feelMs: 100,
  seatMs: 1000,
  tightenMs: 500,
} satisfies Partial<Population>;

/** Every width and probability 0: what is left is geometry. Tests switch single imperfections on again. */
export const PERFECT: Population = {
  ...POPULATION,
  ...Object.fromEntries(
    Object.keys(POPULATION)
      .filter((key) => /Sd|Probability$|^glarePatches|^speckle|^backlash|^hangerTolerance/.test(key))
      .map((key) => [key, 0]),
  ),
};

/** A fault put into the machine on top of what the population draws. */
export type Fault =
  | { readonly kind: 'bent blade'; readonly spindle: string; /** A above B */ readonly differenceMm: number }
  | { readonly kind: 'bent shaft'; readonly spindle: string; /** A above B */ readonly differenceMm: number }
  | { readonly kind: 'high spindle'; readonly spindle: string; readonly heightMm: number }
  | {
      readonly kind: 'tilted spindle';
      readonly spindle: string;
      /** Rise of the blade's circle per mm forward and per mm to the left. */
      readonly slopeX: number;
      readonly slopeY: number;
    };

/** Distributions are drawn from named streams, so that changing one width leaves every other draw as it was. */
export const streams = (random: Random) => ({
  floor: random.split('floor'),
  parking: random.split('parking'),
  machine: random.split('machine'),
  linkage: random.split('linkage'),
  seating: random.split('seating'),
  technician: random.split('technician'),
  motion: random.split('motion'),
  weather: random.split('weather'),
});
