/** The solver's public functions. */
export {
  beamTiltCosine,
  linearise,
  tipHeightMm,
  type Beam,
  type Linearised,
  type Vector,
} from './tip-height';
export {
  beamOf,
  captureHeightUm,
  upward,
  type CaptureHeight,
  type WireCalibration,
  type WireReading,
} from './capture-height';
export {
  absorb,
  covariance,
  functional,
  mean,
  noInformation,
  predictiveResidual,
  priorInformation,
  solve,
  type Answer,
  type Estimate,
  type Information,
  type Rows,
} from './engine';
export { normalBelow, normalQuantile, studentBelow } from './normal';
export { logGamma } from './gamma-beta';
export { chiSquareAbove } from './chi-square';
export { fisherAbove } from './fisher';
export { chiSquareQuantile, fisherQuantile, studentQuantile } from './quantiles';
export { groundWeights, type GroundWeights } from './ground';
export { floorSums, surveyedFloor, type KnownFloor } from './surveyed-floor';
export {
  adjustLevels,
  type LevelAdjustment,
  type LevelNetwork,
  type LevelResidual,
  type LevelStep,
  type Misclosure,
  type PointHeight,
  type StaffReading,
} from './level-network';
export type {
  BendQuestion,
  GroundPlane,
  Layout,
  MeasureLimits,
  MeasureQuestion,
  Parking,
  Point,
  Spindle,
  SpotOffset,
  SurveyedFloor,
  TipReading,
  TipsQuestion,
  TapeUncertainty,
  TipTerm,
  Wheel,
  Widths,
} from './layout';
export {
  solveTips,
  type MeasureResult,
  type Pose,
  type Quantity,
  type Solution,
  type SpindleResult,
  type TipResult,
} from './solve-tips';
export { judge, probabilityOutside, type Judgement, type Verdict } from './result';
export { restDeck, type Rest, type Support, type SupportKind } from './statics';
export { whatToTurn, type Adjuster, type Hanging, type Turning } from './turning';
export {
  explainRound,
  learnGains,
  withGains,
  type RoundExplanation,
  type Gain,
  type Gains,
  type TurningRound,
} from './gains';
export {
  liveState,
  liveSteps,
  type LiveAnswer,
  type LiveState,
  type LiveStep,
  type WatchedTip,
} from './live-turning';
export { SLACK_LIMIT_MM, turnInSteps, type StepTurning } from './whole-steps';
export { explainFaults, type Explanation, type Faults, type Finding } from './faults';
export type { FaultKind } from './fault-candidates';
export { acceptedShare } from './acceptance';
export { DECIDING_PROBABILITY, READING_COSTS, type ReadingCosts } from './design';
export type { Place } from './scene';
export { nextReadings, type Outlook, type Solved } from './next-reading';
export { varianceFactor, widenedByMisfit } from './misfit';
export { withDegreesOfFreedom } from './trust-in-widths';
export type { Crank, SequenceStep } from './reading-order';
export { fullSequence, planSequence, type ReadingSequence, type ReadingTask } from './sequence';
export type { Residual } from './residuals';
