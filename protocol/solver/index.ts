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
export { groundWeights, type GroundWeights } from './ground';
export type {
  BendQuestion,
  GroundPlane,
  Layout,
  MeasureLimits,
  MeasureQuestion,
  Point,
  Spindle,
  TipReading,
  TipsQuestion,
  TipTerm,
  Widths,
} from './layout';
export {
  solveTips,
  type MeasureResult,
  type Pose,
  type Quantity,
  type Residual,
  type Solution,
  type SpindleResult,
  type TipResult,
} from './solve-tips';
export { judge, probabilityOutside, type Judgement, type Verdict } from './result';
export { restDeck, type Rest } from './statics';
export { whatToTurn, type Adjuster, type Hanging, type Turning } from './turning';
