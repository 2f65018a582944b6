/**
 * The sensor head: a laser triangulation sensor whose output voltage stands for the distance, with its own true curve, and
 * the calibration that a factory would have found for it.
 *
 * Its figures are invented, in the order of what sensors of the class (65 to 135 mm, class 2) state: linearity about 1 %
 * of the span before linearisation, 0.02 % of the reading a degree.
 */
import type { Body } from '../../../protocol/wire/messages';
import type { Random } from '../random';
import type { FixtureBody, Scene } from '../world';
import type { MotionErrors } from './motion';

export const NEAREST_MM = 65;
export const FARTHEST_MM = 135;
const CENTRE_MM = 100;
const HALF_SPAN_MM = 35;
/** At the centre, and from the centre to either end of the span. */
const CENTRE_V = 2.0;
const HALF_SPAN_V = 1.8;
/** Shown when no light comes back: nothing in reach, or the emitter is off. */
const NO_LIGHT_V = 4.05;
/** Beyond its span the sensor still sees a little. */
const REACH = 1.03;
const EMITTER_RISE_US = 8000;
const REFERENCE_C = 20;
const COUNTS_PER_V = 32768 / 4.096;
const KNOT_PAIRS = 16;

/** What one made head does wrongly; distances as fractions of half the span. */
export interface HeadErrors {
  readonly offset: number;
  readonly gain: number;
  readonly square: number;
  readonly cube: number;
  /** Relative change of the distance shown, per degree. */
  readonly temperaturePerC: number;
}

/** Draws the errors of one head. */
export function drawHeadErrors(random: Random): HeadErrors {
  return {
    offset: random.normal(0.01),
    gain: random.normal(0.01),
    square: random.normal(0.006),
    cube: random.normal(0.006),
    temperaturePerC: random.normal(0.0002),
  };
}

export interface Head {
  setLaser(on: boolean): void;
  /** Output voltage now. */
  outputV(): number;
}

export function createHead(
  errors: HeadErrors,
  nowUs: () => number,
  scene: () => Scene,
  random: Random,
): Head {
  let litSinceUs: number | undefined;
  return {
    setLaser: (on) => {
      litSinceUs = on ? nowUs() : undefined;
    },
    outputV: () => {
      const { distanceMm, speckleMm, temperatureC } = scene();
      if (litSinceUs === undefined || nowUs() - litSinceUs < EMITTER_RISE_US || distanceMm === undefined) {
        return NO_LIGHT_V;
      }
      return voltage(errors, distanceMm + random.normal(speckleMm), temperatureC);
    },
  };
}

/** Voltage that the head shows for a true distance. */
function voltage(errors: HeadErrors, distanceMm: number, temperatureC: number): number {
  const shownMm = distanceMm * (1 + errors.temperaturePerC * (temperatureC - REFERENCE_C));
  const x = (shownMm - CENTRE_MM) / HALF_SPAN_MM;
  if (Math.abs(x) > REACH) return NO_LIGHT_V;
  return (
    CENTRE_V +
    HALF_SPAN_V * (errors.offset + (1 + errors.gain) * x + errors.square * x * x + errors.cube * x * x * x)
  );
}

/** Standard uncertainties that the factory states for its calibration; each fixture's true error is drawn from them. */
export const FACTORY_UNCERTAINTY = {
  offsetMm: 0.03,
  gain: 0.0005,
  edgeMm: 0.02,
  beamRad: 0.0005,
  gravityMg: 1,
  temperaturePerC: 0.00003,
} as const;

/** Days since 1970-01-01 of the invented factory calibration. */
const FACTORY_DAY = 20000;

/** The calibrations of both head positions that would be exactly right, but for the straight lines between knots. */
export function trueCalibration(
  body: FixtureBody,
  head: HeadErrors,
  motion: MotionErrors,
): [Body<'calibration'>, Body<'calibration'>] {
  return [0, 1].map((position) => {
    const shape = body[position];
    const knots: number[] = [];
    for (let k = 0; k < KNOT_PAIRS; k++) {
      const distanceMm = NEAREST_MM + ((FARTHEST_MM - NEAREST_MM) * k) / (KNOT_PAIRS - 1);
      knots.push(
        Math.round(voltage(head, distanceMm, REFERENCE_C) * COUNTS_PER_V * 256),
        Math.round(distanceMm * 1000),
      );
    }
    return {
      headPosition: position,
      version: 1,
      setOnDay: FACTORY_DAY,
      beamX: Math.round(shape.beam[0] * 1e9),
      beamY: Math.round(shape.beam[1] * 1e9),
      beamZ: Math.round(shape.beam[2] * 1e9),
      edgeX: Math.round(shape.edgeMm[0] * 1000),
      edgeY: Math.round(shape.edgeMm[1] * 1000),
      edgeZ: Math.round(shape.edgeMm[2] * 1000),
      gravityBiasX: Math.round(motion.zeroForceMg[0] * 1000),
      gravityBiasY: Math.round(motion.zeroForceMg[1] * 1000),
      gravityBiasZ: Math.round(motion.zeroForceMg[2] * 1000),
      temperatureReference: Math.round((REFERENCE_C + motion.temperatureC) * 100),
      // The sensor shows more by this much for each degree: the correction takes it off again.
      temperatureGain: Math.round(-head.temperaturePerC * 1e9),
      knots,
    };
  }) as [Body<'calibration'>, Body<'calibration'>];
}

/** The calibration that the factory found: the true one, off by errors drawn from FACTORY_UNCERTAINTY. */
export function factoryCalibration(truth: Body<'calibration'>, random: Random): Body<'calibration'> {
  const sd = FACTORY_UNCERTAINTY;
  const offsetUm = random.normal(sd.offsetMm * 1000);
  const gain = 1 + random.normal(sd.gain);
  const beam = [
    truth.beamX / 1e9 + random.normal(sd.beamRad),
    truth.beamY / 1e9 + random.normal(sd.beamRad),
    truth.beamZ / 1e9,
  ] as const;
  const length = Math.hypot(...beam);
  const centreUm = CENTRE_MM * 1000;
  return {
    ...truth,
    beamX: Math.round((beam[0] / length) * 1e9),
    beamY: Math.round((beam[1] / length) * 1e9),
    beamZ: Math.round((beam[2] / length) * 1e9),
    edgeX: truth.edgeX + Math.round(random.normal(sd.edgeMm * 1000)),
    edgeY: truth.edgeY + Math.round(random.normal(sd.edgeMm * 1000)),
    edgeZ: truth.edgeZ + Math.round(random.normal(sd.edgeMm * 1000)),
    gravityBiasX: truth.gravityBiasX + Math.round(random.normal(sd.gravityMg * 1000)),
    gravityBiasY: truth.gravityBiasY + Math.round(random.normal(sd.gravityMg * 1000)),
    gravityBiasZ: truth.gravityBiasZ + Math.round(random.normal(sd.gravityMg * 1000)),
    temperatureGain: truth.temperatureGain + Math.round(random.normal(sd.temperaturePerC * 1e9)),
    knots: truth.knots.map((value, i) =>
      i % 2 === 0 ? value : Math.round(centreUm + (value - centreUm) * gain + offsetUm),
    ),
  };
}
