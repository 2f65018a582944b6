import type { Random } from './random';
import type { Shop } from './shop';

/**
 * What is left wrong with one fixture after its calibration. Distances and gravity that it reports carry these; they stay
 * the same for the fixture's life.
 */
export interface FixtureErrors {
  readonly offsetMm: number;
  /** Relative error of the distance about `gainAboutMm`. */
  readonly gain: number;
  readonly gainAboutMm: number;
  readonly accelerometerBiasG: readonly [number, number, number];
}

export interface FixturePopulation {
  /** Sd of the distance's offset after calibration. */
  readonly offsetSdMm: number;
  /** Relative sd of the distance's gain after calibration. */
  readonly gainSd: number;
  readonly gainAboutMm: number;
  /** Sd of what is left of the accelerometer's bias on each axis. */
  readonly accelerometerBiasSdG: number;
}

/** Invented: a fixture with a fresh calibration. */
export const FIXTURE_POPULATION: FixturePopulation = {
  offsetSdMm: 0.05,
  gainSd: 0.0005,
  gainAboutMm: 100,
  accelerometerBiasSdG: 0.001,
};

export function drawFixture(random: Random, population = FIXTURE_POPULATION): FixtureErrors {
  return {
    offsetMm: random.normal(population.offsetSdMm),
    gain: random.normal(population.gainSd),
    gainAboutMm: population.gainAboutMm,
    accelerometerBiasG: [
      random.normal(population.accelerometerBiasSdG),
      random.normal(population.accelerometerBiasSdG),
      random.normal(population.accelerometerBiasSdG),
    ],
  };
}

/** What a capture would hold: plain numbers, in the fixture's frame. */
export interface DirectCapture {
  /** Mean of the linearised laser distance along the beam. */
  readonly distanceMm: number;
  /** Mean specific force; points up. */
  readonly gravityG: readonly [number, number, number];
  readonly standardErrorMm: number;
  readonly temperatureC: number;
  readonly headPosition: 0 | 1;
}

/**
 * A capture without firmware or byte stream, for campaigns: what the mean over `samples` samples of the settled scene
 * would be, drawn in one go. undefined: no floor within reach. Simulated time does not pass.
 */
export function captureDirectly(
  shop: Shop,
  fixture: FixtureErrors,
  samples: number,
  random: Random,
): DirectCapture | undefined {
  const scene = shop.settledScene();
  if (scene.distanceMm === undefined) return undefined;
  const standardErrorMm = scene.speckleMm / Math.sqrt(samples);
  const [x, y, z] = scene.forceG;
  const [biasX, biasY, biasZ] = fixture.accelerometerBiasG;
  return {
    distanceMm:
      scene.distanceMm +
      fixture.offsetMm +
      fixture.gain * (scene.distanceMm - fixture.gainAboutMm) +
      random.normal(standardErrorMm),
    gravityG: [x + biasX, y + biasY, z + biasZ],
    standardErrorMm,
    temperatureC: scene.temperatureC,
    headPosition: scene.headPosition,
  };
}
