/** A sensor that reads wrong on purpose, what is wrong with a calibration of it, and invented references to calibrate it with. */
import type { Equipment } from '../../../host/gauging/equipment';
import { captureHeightUm } from '../../../protocol/solver';
import type { Body } from '../../../protocol/wire/messages';

/** Lengths that reach the whole span from the edges of the nominal height master. */
export const BLOCKS_MM = [5, 10, 15, 20, 25, 30, 32, 35, 40, 45, 50, 55, 58, 60];
const reference = (kind: Equipment['kind'], values: readonly number[], U: number): Equipment => ({
  id: kind,
  kind,
  certificate: 'invented',
  laboratory: 'invented',
  calibratedOn: '2026-01-01',
  due: '2027-01-01',
  expandedUncertainty: U,
  unit: 'mm',
  values,
});
export const REFERENCES = [
  reference('height master', [35, 85, 75, 125], 0.06),
  reference('gauge blocks', BLOCKS_MM, 0.004),
];

/** The distances of a calibration, made wrong by an offset, a gain and a cubic. */
export function distorted(calibration: Body<'calibration'>): Body<'calibration'> {
  const wrong = (um: number) => {
    const x = (um / 1000 - 100) / 35;
    return Math.round(um + 1000 * (0.8 + 0.9 * x - 0.7 * x ** 3));
  };
  return { ...calibration, knots: calibration.knots.map((v, i) => (i % 2 === 0 ? v : wrong(v))) };
}

/** Greatest error of the height of a level fixture over the laser's span, against the simulation's own curve. */
export function worstErrorMm(found: Body<'calibration'>, truth: Body<'calibration'>): number {
  const { knots } = truth;
  const low = knots[0];
  const high = knots[knots.length - 2];
  const errors = Array.from({ length: 201 }, (_, i) => {
    const countsMean = low + ((high - low) * i) / 200;
    const capture = { countsMean, temperature: truth.temperatureReference };
    const heightUm = (c: Body<'calibration'>, bias = c) =>
      captureHeightUm(c, {
        ...capture,
        gravityX: bias.gravityBiasX,
        gravityY: bias.gravityBiasY,
        gravityZ: 1e6 + bias.gravityBiasZ,
      }).heightUm;
    return Math.abs(heightUm(found, truth) - heightUm(truth)) / 1000;
  });
  return Math.max(...errors);
}
