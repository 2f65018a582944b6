/** Surveying the simulated floor: a surveyor, a staff and a level that is set up anew for every round. */
import type { Floor } from './floor';
import type { Random } from './random';

export interface StaffRound {
  readonly setUp: number;
  readonly point: string;
  readonly readingMm: number;
}

export interface SurveyingPopulation {
  /** Sd of one staff reading: instrument, staff, foot. */
  readonly readingSdMm: number;
  /** Sd of where the staff is put about the point's mark. */
  readonly footSdMm: number;
  /** Probability of a reading that is wrong by a whole division of the staff. */
  readonly blunderProbability: number;
  readonly blunderMm: number;
}

/** Invented: a digital level over a few metres, a surveyor who looks where the staff stands. */
export const SURVEYING: SurveyingPopulation = {
  readingSdMm: 0.15,
  footSdMm: 3,
  blunderProbability: 0,
  blunderMm: 10,
};

/** Staff readings on every point from each set-up, to a hundredth of a millimetre. */
export function readStaff(
  floor: Pick<Floor, 'heightMm'>,
  points: readonly { readonly name: string; readonly xMm: number; readonly yMm: number }[],
  setUps: number,
  random: Random,
  population: SurveyingPopulation = SURVEYING,
): StaffRound[] {
  const readings: StaffRound[] = [];
  for (let setUp = 1; setUp <= setUps; setUp++) {
    const sightMm = 1450 + random.between(-60, 60);
    for (const { name, xMm, yMm } of points) {
      const foundMm = floor.heightMm(
        xMm + random.normal(population.footSdMm),
        yMm + random.normal(population.footSdMm),
      );
      const blunder = random.chance(population.blunderProbability) ? population.blunderMm : 0;
      const readingMm = sightMm - foundMm + random.normal(population.readingSdMm) + blunder;
      readings.push({ setUp, point: name, readingMm: Math.round(100 * readingMm) / 100 });
    }
  }
  return readings;
}

/** The floor as it has become since: sunk and heaved by `sdMm`, alike over `correlationMm`. */
export function changedFloor(floor: Floor, change: Pick<Floor, 'heightMm'>): Floor {
  return { ...floor, heightMm: (x, y) => floor.heightMm(x, y) + change.heightMm(x, y) };
}
