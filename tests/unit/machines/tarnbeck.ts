import type { TapeDimensions } from '../../../host/machines/from-tape';

/** An invented two-blade machine as a tape finds it. */
export const TARNBECK_90 = {
  model: 'Tarnbeck 90',
  family: 'mid-mount hung',
  blades: 2,
  bladeLengthMm: 460,
  spacingMm: 440,
  staggerMm: 150,
  wheelbaseMm: 1200,
  frontTrackMm: 800,
  rearTrackMm: 820,
  rotation: 'clockwise',
  cutHeightMm: 65,
} as const satisfies TapeDimensions;
