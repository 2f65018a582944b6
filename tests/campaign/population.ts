/**
 * The two populations of the campaign. Every number here is invented.
 *
 * FROZEN on 2026-11-25, before any figure of the campaign had been looked at: a test holds this file's hash. Whoever
 * changes it changes what every figure means, and says so in the proofs that are run again.
 *
 * `matched` draws everything from the very widths that the solver starts from, so that its statements can be checked as
 * they are meant. `mismatched` is how we think shops are: mixtures of good and bad, heavy tails, errors that hang together,
 * one-sided errors, mistakes, each with its reason. None of its shapes is the solver's.
 */
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import type { FixturePopulation } from '../../host/simulation/direct-capture';
import { POPULATION, type Fault, type Population } from '../../host/simulation/population';
import { seededRandom, type Random } from '../../host/simulation/random';

export type PopulationName = 'matched' | 'mismatched';

/** One machine as it comes into one bay on one day, with the people and the fixture that it meets there. */
export interface Machine {
  readonly number: number;
  readonly population: PopulationName;
  readonly profile: MachineProfile;
  /** Of its shop; everything that is not named here is drawn from it. */
  readonly seed: number;
  readonly shop: Partial<Population>;
  /** Faults to be found. */
  readonly faults: readonly Fault[];
  /** Small deviations of parts that are no fault: within what the solver takes for granted. */
  readonly wear: readonly Fault[];
  readonly fixture: FixturePopulation;
  /** Undefined: the bay's floor was never surveyed. */
  readonly survey: Survey | undefined;
}

export interface Survey {
  /** What the instrument's papers say of one staff reading, standard deviation, and what is true. */
  readonly statedSdMm: number;
  readonly trueSdMm: number;
}

/** Machine `number` of the campaign `seed`: odd ones matched, even ones mismatched. The same for ever. */
export function drawMachine(seed: number, number: number, profiles = listProfiles()): Machine {
  const random = seededRandom(seed).split(`machine ${number}`);
  const profile = random.split('profile');
  const drawn = {
    number,
    profile: profiles[Math.floor(profile.uniform() * profiles.length)],
    seed: Math.floor(random.split('shop').between(0, 2 ** 31)),
  };
  return number % 2 === 1
    ? matched(drawn, random.split('matched'))
    : mismatched(drawn, random.split('mismatched'));
}

type Drawn = Pick<Machine, 'number' | 'profile' | 'seed'>;

/** Machines set up before and machines that are out: both come to every shop. */
const arrivalSdMm = (random: Random) => oneOf(random, [0.5, 1], [0.5, 5]);

function matched(drawn: Drawn, random: Random): Machine {
  // The master's own error is what the opening reading leaves: one for the whole job.
  const masterErrorMm = random.normal(0.1);
  return {
    ...drawn,
    population: 'matched',
    shop: {
      floorSdMm: 1.0,
      floorCorrelationMm: 1500,
      textureSdMm: 0.1,
      parkingSdMm: 20,
      parkingHeadingSdDeg: 1,
      hangerErrorSdMm: arrivalSdMm(random),
      ratioSd: 0.03,
      spindleHeightSdMm: 0.3,
      spindleTiltSd: 0.001,
      bendSdMm: 1.0,
      seatingHeightSdMm: 0.15,
      seatingSlopeSd: 0.0003,
      placementSdMm: 0.25,
      headingSdDeg: 5,
      masterEdgesMm: mastersOff(masterErrorMm),
      masterPlacementSdMm: 0.01,
    },
    faults: [],
    wear: drawn.profile.spindles.map(({ name }) => ({
      kind: 'bent shaft',
      spindle: name,
      differenceMm: 2 * random.normal(0.3),
    })),
    fixture: { offsetSdMm: 0.05, gainSd: 0.002, gainAboutMm: 100, accelerometerBiasSdG: 0 },
    survey: random.chance(0.5) ? { statedSdMm: 0.25, trueSdMm: 0.25 } : undefined,
  };
}

function mismatched(drawn: Drawn, random: Random): Machine {
  return {
    ...drawn,
    population: 'mismatched',
    shop: {
      ...floorOfShop(random.split('floor')),
      ...machineAsFound(random.split('machine')),
      ...technicianOfShop(random.split('technician')),
    },
    faults: faultsOf(drawn.profile, random.split('faults')),
    // Hub faces carry a little dirt and paint on one side: always some, never symmetrical about none.
    wear: drawn.profile.spindles.map(({ name }) => ({
      kind: 'bent shaft',
      spindle: name,
      differenceMm: sign(random) * random.between(0, 0.8),
    })),
    fixture: {
      // Dropped now and then since its calibration.
      offsetSdMm: oneOf(random, [0.8, 0.05], [0.2, 0.2]),
      // The laser's line bends by its age, not by a bell curve.
      gainSd: oneOf(random, [0.7, 0.0005], [0.3, 0.003]),
      gainAboutMm: 100,
      // A bias that nobody sees: it turns heights through the lever arm.
      accelerometerBiasSdG: oneOf(random, [0.8, 0.001], [0.2, 0.004]),
    },
    survey: random.chance(0.4)
      ? // One instrument in five is worse than its papers.
        { statedSdMm: 0.25, trueSdMm: oneOf(random, [0.8, 0.25], [0.2, 0.5]) }
      : undefined,
  };
}

function floorOfShop(random: Random): Partial<Population> {
  return {
    // Good slab, ordinary slab, old slab that has sunk: a mixture, wider than assumed in one bay of four.
    floorSdMm: oneOf(random, [0.35, 0.5], [0.4, 1.0], [0.25, 1.8]),
    // Screeded by hand or laser-levelled: hollows of half a metre up to waves of two and a half.
    floorCorrelationMm: random.between(500, 2500),
    // Drains: more slope than in the demo's bay.
    floorSlopeSd: 0.004,
    // A sawn joint whose edges have curled: no bell curve knows a step.
    floorJointStepMm: random.chance(0.2) ? random.between(-1.2, 1.2) : 0,
    floorJointAtMm: random.between(-300, 1500),
    // Painted, brushed, washed out to the stones.
    textureSdMm: oneOf(random, [0.5, 0.05], [0.4, 0.15], [0.1, 0.4]),
    textureGrainMm: random.between(2, 12),
    // Wet or oily spots in one bay of ten.
    glarePatchesPerM2: random.chance(0.1) ? 0.5 : 0,
    // Wheel stops, lines, or no lines at all.
    parkingSdMm: oneOf(random, [0.4, 10], [0.4, 20], [0.2, 60]),
    parkingHeadingSdDeg: oneOf(random, [0.4, 0.5], [0.4, 1], [0.2, 3]),
    // Sheds are not heated.
    temperatureSdC: 8,
  };
}

function machineAsFound(random: Random): Partial<Population> {
  return {
    hangerErrorSdMm: arrivalSdMm(random),
    // Brackets bent by use: what no nut undoes alone.
    hangerToleranceSdMm: logNormal(random, 0.3, 2),
    // Most levers are as drawn; worn holes and wrong parts make one machine in four ten per cent.
    ratioSd: oneOf(random, [0.75, 0.03], [0.25, 0.1]),
    // Worn threads and pins.
    backlashTurns: oneOf(random, [0.7, 0.02], [0.3, 0.1]),
    // Lock nuts that drag their bolt along.
    tightenShiftSdMm: oneOf(random, [0.7, 0.1], [0.3, 0.3]),
    // Heavy tails: most housings sit well, some do not, and those of one machine are alike in that.
    spindleHeightSdMm: logNormal(random, 0.15, 2),
    spindleTiltSd: logNormal(random, 0.0004, 2),
    // New blades or used ones: a mixture, narrower than assumed.
    bendSdMm: oneOf(random, [0.6, 0.15], [0.4, 0.6]),
    // Decks that stick in their guides come to rest elsewhere each time.
    seatingHeightSdMm: oneOf(random, [0.85, 0.12], [0.15, 0.4]),
    seatingSlopeSd: oneOf(random, [0.85, 0.00025], [0.15, 0.0008]),
  };
}

function technicianOfShop(random: Random): Partial<Population> {
  const hurried = random.chance(0.3);
  return {
    // Worn jaws and worn edges: between a sixth and half a millimetre.
    placementSdMm: logNormal(random, 0.22, 1.4),
    // Everybody seats the clamp in his own way, always the same.
    placementBiasMm: random.between(-0.2, 0.2),
    // Errors hang together: the same burr, the same grip, from one tip to the next.
    placementCarryOver: random.between(0, 0.6),
    // Grass or a chip under the jaw: only ever too high.
    chipProbability: hurried ? 0.03 : 0.01,
    chipMeanMm: 0.6,
    // Clamped by feel, lying on one's back.
    fixtureTiltSdDeg: hurried ? 4 : 2,
    alongBladeSdMm: hurried ? 5 : 2,
    // By eye, from where he kneels: always to the same side.
    headingSdDeg: hurried ? 7 : 3.5,
    headingBiasDeg: random.between(-5, 5),
    // Mistakes: a quarter turn off, another blade or end, a knock that is not said.
    wrongHeadingProbability: hurried ? 0.003 : 0.001,
    wrongTipProbability: hurried ? 0.004 : 0.001,
    knockProbability: hurried ? 0.005 : 0.001,
    knockSdMm: 1.5,
    // Flats are counted, or guessed.
    turnSettingSdTurns: hurried ? 0.06 : 0.03,
    turnCountSdTurns: hurried ? 0.02 : 0.005,
    // Hands differ in what they feel.
    feelSdMm: hurried ? 0.2 : 0.1,
    feelThresholdMm: random.between(0.2, 0.6),
    // Cradles are knocked about: the pair of edges is off together.
    masterEdgesMm: mastersOff(random.between(-0.15, 0.15)),
    masterPlacementSdMm: 0.03,
  };
}

/** Seven machines of ten have no fault of a part: the trade's own guess, no source. */
function faultsOf(profile: MachineProfile, random: Random): Fault[] {
  const count = oneOf(random, [0.7, 0], [0.27, 1], [0.03, 2]);
  return Array.from({ length: count }, (_, i) => faultOf(profile, random.split(`fault ${i}`)));
}

function faultOf(profile: MachineProfile, random: Random): Fault {
  const { name: spindle } = profile.spindles[Math.floor(random.uniform() * profile.spindles.length)];
  // Blades meet stones most often; shafts after them; housings seldom. Sizes begin where a fault begins to matter.
  const kind = oneOf<Fault['kind']>(
    random,
    [0.4, 'bent blade'],
    [0.2, 'bent shaft'],
    [0.2, 'high spindle'],
    [0.2, 'tilted spindle'],
  );
  switch (kind) {
    case 'bent blade':
      return { kind, spindle, differenceMm: sign(random) * (2 + exponential(random, 4)) };
    case 'bent shaft':
      return { kind, spindle, differenceMm: sign(random) * (2 + exponential(random, 3)) };
    case 'high spindle':
      return { kind, spindle, heightMm: sign(random) * (1.5 + exponential(random, 3)) };
    case 'tilted spindle': {
      const slope = 0.004 + exponential(random, 0.006);
      const towards = random.between(0, 2 * Math.PI);
      return { kind, spindle, slopeX: slope * Math.cos(towards), slopeY: slope * Math.sin(towards) };
    }
  }
}

function mastersOff(byMm: number): Population['masterEdgesMm'] {
  const off = ({ low, high }: { low: number; high: number }) => ({ low: low + byMm, high: high + byMm });
  return [off(POPULATION.masterEdgesMm[0]), off(POPULATION.masterEdgesMm[1])];
}

function oneOf<T>(random: Random, ...choices: readonly (readonly [share: number, value: T])[]): T {
  let left = random.uniform();
  for (const [share, value] of choices) {
    left -= share;
    if (left < 0) return value;
  }
  return (choices.at(-1) as readonly [number, T])[1];
}

/** Median and the factor of one standard deviation. */
function logNormal(random: Random, median: number, factor: number): number {
  return median * Math.exp(random.normal(Math.log(factor)));
}

function exponential(random: Random, mean: number): number {
  return -mean * Math.log(1 - random.uniform());
}

function sign(random: Random): 1 | -1 {
  return random.chance(0.5) ? 1 : -1;
}
