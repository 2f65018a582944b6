/** The one function by which fixture and host turn the raw fields of a capture into a height. */
import { toFloat } from './number';
import { linearise, tipHeightMm, type Vector } from './tip-height';

/** A calibration as it travels on the wire; units as in the message table. */
export interface WireCalibration {
  readonly beamX: number;
  readonly beamY: number;
  readonly beamZ: number;
  readonly edgeX: number;
  readonly edgeY: number;
  readonly edgeZ: number;
  readonly gravityBiasX: number;
  readonly gravityBiasY: number;
  readonly gravityBiasZ: number;
  readonly temperatureReference: number;
  readonly temperatureGain: number;
  readonly knots: readonly number[];
}

/** The raw fields of a capture that its height comes from; units as in the message table. */
export interface WireReading {
  readonly countsMean: number;
  readonly gravityX: number;
  readonly gravityY: number;
  readonly gravityZ: number;
  readonly temperature: number;
}

export interface CaptureHeight {
  /** Along the beam, corrected for temperature. Whole micrometres, like the height. */
  readonly distanceUm: number;
  readonly heightUm: number;
  /** False when the reading lies outside the calibration's knots: the numbers then mean nothing. */
  readonly inRange: boolean;
}

/** The beam of a calibration, and the upward vector of a reading, as plain numbers. */
export function beamOf(calibration: WireCalibration): { beam: Vector; edgeMm: Vector } {
  return {
    beam: [calibration.beamX / 1e9, calibration.beamY / 1e9, calibration.beamZ / 1e9],
    edgeMm: [calibration.edgeX / 1000, calibration.edgeY / 1000, calibration.edgeZ / 1000],
  };
}

/** Upward vector in the fixture's frame in ug: what the motion part shows less its bias. */
export function upward(calibration: WireCalibration, reading: WireReading): Vector {
  return [
    toFloat(reading.gravityX) - calibration.gravityBiasX,
    toFloat(reading.gravityY) - calibration.gravityBiasY,
    toFloat(reading.gravityZ) - calibration.gravityBiasZ,
  ];
}

/**
 * Linearises, corrects for temperature, tilts and rounds (half up, by floor(x + 0.5)). The host calls it on the raw
 * fields of a capture and refuses a capture whose own `distance` or `height` differs. A reading without any gravity gives
 * height 0 out of range.
 */
export function captureHeightUm(calibration: WireCalibration, reading: WireReading): CaptureHeight {
  const { distanceUm, inRange } = linearise(calibration.knots, reading.countsMean);
  const warmerC = (toFloat(reading.temperature) - calibration.temperatureReference) / 100;
  const corrected = distanceUm * (1 + (toFloat(calibration.temperatureGain) / 1e9) * warmerC);
  const roundedUm = Math.floor(corrected + 0.5);
  const up = upward(calibration, reading);
  if (up[0] === 0 && up[1] === 0 && up[2] === 0) {
    return { distanceUm: roundedUm, heightUm: 0, inRange: false };
  }
  const heightMm = tipHeightMm(beamOf(calibration), corrected / 1000, up);
  return { distanceUm: roundedUm, heightUm: Math.floor(heightMm * 1000 + 0.5), inRange };
}
