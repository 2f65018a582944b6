import type { Population } from './population';
import { scrambled, type Random } from './random';

/** The bay's floor. Bay coordinates: x along the bay, y to the left, z up along gravity, mm. */
export interface Floor {
  /** Height of the smooth floor: what a wheel or a levelling staff finds. */
  heightMm(xMm: number, yMm: number): number;
  /** What the fine texture adds under a laser spot; the same spot always gives the same. */
  textureMm(xMm: number, yMm: number): number;
  /** How much higher than the smooth floor a flat plate lies whose middle is here: it rests on the highest grains under it. */
  plateRiseMm(xMm: number, yMm: number): number;
  /** Standard deviation of one distance sample on this spot. */
  speckleMm(xMm: number, yMm: number): number;
}

/** So many that a floor's heights are normal to within what any test here could see. */
const WAVES = 32;
/** Half the side of the square that shiny patches are strewn over. */
const PATCHED_MM = 3000;

/**
 * A random floor: a slope, plus a sum of cosines whose wave vectors are normal with sd 1 / L, which has the correlation
 * exp(-d² / (2 L²)) (a Gaussian's Fourier transform is a Gaussian), plus texture and shiny patches.
 */
export function createFloor(random: Random, population: Population): Floor {
  const slopeX = random.normal(population.floorSlopeSd);
  const slopeY = random.normal(population.floorSlopeSd);
  const amplitudeMm = population.floorSdMm * Math.sqrt(2 / WAVES);
  const waves = new Float64Array(3 * WAVES);
  for (let i = 0; i < waves.length; i += 3) {
    waves[i] = random.normal(1 / population.floorCorrelationMm);
    waves[i + 1] = random.normal(1 / population.floorCorrelationMm);
    waves[i + 2] = random.between(0, 2 * Math.PI);
  }
  const textureMm = (xMm: number, yMm: number) => {
    if (population.textureSdMm === 0) return 0;
    const { textureGrainMm } = population;
    return population.textureSdMm * grain(xMm / textureGrainMm, yMm / textureGrainMm, textureSeed);
  };
  const textureSeed = Math.floor(random.between(0, 2 ** 31));
  const patches = strewPatches(random, population.glarePatchesPerM2);

  return {
    heightMm(xMm, yMm) {
      let sum = 0;
      if (amplitudeMm > 0) {
        for (let i = 0; i < waves.length; i += 3) {
          sum += Math.cos(waves[i] * xMm + waves[i + 1] * yMm + waves[i + 2]);
        }
      }
      const stepMm = xMm > population.floorJointAtMm ? population.floorJointStepMm : 0;
      return slopeX * xMm + slopeY * yMm + amplitudeMm * sum + stepMm;
    },
    textureMm,
    plateRiseMm(xMm, yMm) {
      const steps = Math.ceil(population.plateSideMm / population.textureGrainMm);
      let highestMm = -Infinity;
      for (let i = 0; i <= steps; i++) {
        for (let j = 0; j <= steps; j++) {
          const besideMm = (k: number) => (k / steps - 0.5) * population.plateSideMm;
          highestMm = Math.max(highestMm, textureMm(xMm + besideMm(i), yMm + besideMm(j)));
        }
      }
      return highestMm;
    },
    speckleMm(xMm, yMm) {
      const shiny = patches.some((p) => (p.xMm - xMm) ** 2 + (p.yMm - yMm) ** 2 < p.radiusMm ** 2);
      return shiny ? population.glareMm : population.speckleMm;
    },
  };
}

/** Unit-variance noise that is fixed at whole numbers and blended between them. */
function grain(x: number, y: number, seed: number): number {
  const column = Math.floor(x);
  const row = Math.floor(y);
  const right = x - column;
  const up = y - row;
  const weights = [(1 - right) * (1 - up), right * (1 - up), (1 - right) * up, right * up] as const;
  let sum = 0;
  let sumOfSquares = 0;
  for (let i = 0; i < 4; i++) {
    sum += weights[i] * normalAt(column + (i & 1), row + (i >> 1), seed);
    sumOfSquares += weights[i] ** 2;
  }
  return sum / Math.sqrt(sumOfSquares);
}

/** A standard normal number that belongs to one grid point for ever. */
function normalAt(column: number, row: number, seed: number): number {
  const word = scrambled(scrambled(scrambled(seed) ^ column) ^ row);
  const u = ((word >>> 0) + 0.5) / 2 ** 32;
  const v = (scrambled(word ^ 0x5bd1e995) >>> 0) / 2 ** 32;
  return Math.sqrt(-2 * Math.log(u)) * Math.cos(2 * Math.PI * v);
}

function strewPatches(random: Random, perM2: number) {
  const count = Math.round(perM2 * (2 * PATCHED_MM * 1e-3) ** 2);
  return Array.from({ length: count }, () => ({
    xMm: random.between(-PATCHED_MM, PATCHED_MM),
    yMm: random.between(-PATCHED_MM, PATCHED_MM),
    radiusMm: random.between(30, 80),
  }));
}
