import type { MachineProfile } from '../machines/profile';
import { createBlades, circleHeightMm, halfBendMm, type Blade, type BladeEnd } from './blade';
import { createDeck } from './deck';
import { createFloor, type Floor } from './floor';
import { createLinkage } from './linkage';
import { addPlanes, heightAt, type Plane, type Spot } from './plane';
import { POPULATION, streams, type Fault, type Population } from './population';
import { seededRandom } from './random';
import { createTimeline, type Hold, type Stage } from './stage';
import { stand, type Parked } from './standing';
import { unevennessMm } from './straightedge';
import { targetPlane } from './target-plane';
import { createTechnician, type Technician } from './technician';
import { floorAboveGroundMm, movingScene, stillScene, type Surroundings } from './scene';
import type { FixtureBody, Scene, World } from './world';

export interface ShopOptions extends Partial<Population> {
  readonly seed: number;
  readonly profile: MachineProfile;
  readonly body: FixtureBody;
  /** Put into the machine on top of what the population draws. */
  readonly faults?: readonly Fault[];
  /** The same machine on the same floor again: parked, clamped and seated anew. 1, the default, is the first time. */
  readonly visit?: number;
  /** The way it faces in the bay, on the same wheel spots. */
  readonly facing?: 'along' | 'against';
}

/**
 * A bay with one machine in it, a technician and a fixture: the world that the simulated parts look into, and the truth
 * about it, which only tests and the end of a demo may look at. Same options, same bits.
 *
 * Truth is in the machine's frame: x forward, y left, heights in mm above the true ground plane, at the deck's mean
 * seating, with the hangers as they are now. Rake and level follow from it: positive rake is front lower, level is left
 * minus right, as the profile's weights say.
 */
export interface Shop extends World {
  readonly technician: Technician;
  readonly population: Population;
  readonly floor: Floor;
  readonly parked: Parked;
  /** Simulated time that has passed or is taken by what the technician has begun. */
  readonly elapsedMs: number;
  /** Where the fixture truly is, and how it sits there. */
  readonly hold: Hold;
  /** The scene after everything begun has ended and the deck is still. Does not move the clock. */
  settledScene(): Scene;

  /** Height of the circle of the blade's mean of both ends: with the spindle's height and tilt, without bend. */
  trueTipHeightMm(spindle: string, headingDeg: number): number;
  /** Height of end A above end B at the same heading, as the blade is fitted now; a bent shaft included. */
  trueBendMm(spindle: string): number;
  /** How far the tip can be pushed up and pulled down. */
  truePlayMm(spindle: string): number;
  /** A measure of the profile, from the heights and bends above. */
  trueMeasureMm(name: string): number;
  /** The deck's cutting plane above the ground plane, without the spindles' own deviations. */
  truePlane(): Plane;
  hangerState(): readonly HangerState[];
  trueMmPerTurn(adjuster: string, hanger: string): number;
  /**
   * Smooth floor at a spot above the ground plane at a tip, both places of the machine's frame: F(spot) - G(tip), what a
   * perfect survey would give. Added to the height of a tip above the spot it gives the tip's height above the ground.
   */
  floorAboveGroundMm(spot: Spot, tip: Spot): number;
}

export interface HangerState {
  readonly name: string;
  /** Height at which it would hold the deck's cutting plane, above the chassis plane. */
  readonly heightMm: number;
  readonly carrying: boolean;
  readonly slackMm: number;
}

export type { BladeEnd };

/** Middle of the reach of the 65-135 mm class of laser: the head is pinned where the floor comes nearest to it. */
const MID_REACH_MM = 100;

export function createShop(options: ShopOptions): Shop {
  const { seed, profile, body, faults = [], visit = 1, facing = 'along', ...widths } = options;
  const population: Population = { ...POPULATION, ...widths };
  const random = ofVisit(streams(seededRandom(seed)), visit);

  const floor = createFloor(random.floor, population);
  const against = facing === 'against';
  const parked: Parked = {
    xMm: random.parking.normal(population.parkingSdMm) + (against ? turnedOriginMm(profile) : 0),
    yMm: random.parking.normal(population.parkingSdMm),
    headingRad:
      (random.parking.normal(population.parkingHeadingSdDeg) * Math.PI) / 180 + (against ? Math.PI : 0),
  };
  const shims: Record<string, number> = {};
  const standing = { ...stand(profile, floor, parked) };
  const target = targetPlane(profile);
  const nominalMm = profile.hangers.map((hanger) => heightAt(target, hanger.xMm, hanger.yMm));
  const linkage = createLinkage(profile, nominalMm, random.linkage, population);
  const deck = createDeck(profile, linkage, { floor, parked, standing, shims }, random.seating, population);
  const blades = createBlades(profile, random.machine, population, faults);
  const surroundings: Surroundings = {
    blades,
    floor,
    parked,
    standing,
    body,
    speckleMm: population.speckleMm,
    plateMm: population.plateMm,
    temperatureC: population.temperatureC + random.weather.normal(population.temperatureSdC),
  };
  const timeline = createTimeline(
    { hold: { where: 'hand' }, deck: deck.seated(), head: headFor(profile.cutHeightMm, body) },
    () => random.motion.between(0, 2 * Math.PI),
  );
  const technician = createTechnician({
    profile,
    blades,
    linkage,
    deck,
    timeline,
    random: random.technician,
    population,
    shimWheel: (wheel, heightMm) => {
      shims[wheel] = heightMm;
      Object.assign(standing, stand(profile, floor, parked, shims));
    },
    unevennessMm: () => unevennessMm(profile, floor, parked),
    heightOverFloorMm: (blade, end, headingDeg) => {
      const heading = (headingDeg * Math.PI) / 180;
      const tip = {
        xMm: blade.xMm + blade.tipRadiusMm * Math.cos(heading),
        yMm: blade.yMm + blade.tipRadiusMm * Math.sin(heading),
      };
      const bendMm = end === 'A' ? halfBendMm(blade) : -halfBendMm(blade);
      return trueTipHeightMm(blade.name, headingDeg) + bendMm - floorAboveGroundMm(surroundings, tip, tip);
    },
  });

  // Most scenes are of a world in which nothing has moved since the last one.
  let still: { readonly stage: Stage; readonly scene: Scene } | undefined;
  const settled = (stage: Stage): Scene => {
    if (still?.stage !== stage) still = { stage, scene: stillScene(surroundings, stage) };
    return still.scene;
  };

  const truePlane = () => addPlanes(addPlanes(deck.mean(), standing.chassis), standing.ground, -1);
  const trueTipHeightMm = (spindle: string, headingDeg: number) => {
    const blade = bladeNamed(blades, spindle);
    const { slopeX, slopeY } = standing.ground;
    // Heights are counted square to the ground plane.
    const square = 1 / Math.sqrt(1 + slopeX ** 2 + slopeY ** 2);
    return square * circleHeightMm(blade, truePlane(), headingDeg, blade.tipRadiusMm);
  };
  const trueBendMm = (spindle: string) => 2 * halfBendMm(bladeNamed(blades, spindle));

  return {
    technician,
    population,
    floor,
    parked,
    get elapsedMs() {
      return timeline.elapsedUs / 1000;
    },
    get hold() {
      return timeline.last.hold;
    },
    sceneAt(timeUs) {
      const motion = timeline.motionAt(timeUs);
      return motion === undefined ? settled(timeline.last) : movingScene(surroundings, motion, timeUs);
    },
    settledScene: () => settled(timeline.last),
    trueTipHeightMm,
    trueBendMm,
    truePlayMm: (spindle) => bladeNamed(blades, spindle).playMm,
    trueMeasureMm(name) {
      const measure = profile.measures.find((candidate) => candidate.name === name);
      if (measure === undefined) throw new Error(`the profile has no measure ${name}`);
      if (measure.what === 'bend') return trueBendMm(measure.spindle);
      return measure.terms.reduce(
        (sum, term) => sum + term.weight * trueTipHeightMm(term.spindle, term.headingDeg),
        0,
      );
    },
    truePlane,
    hangerState() {
      const heightsMm = linkage.heightsMm();
      const rest = deck.mean();
      return profile.hangers.map((hanger, i) => ({
        name: hanger.name,
        heightMm: heightsMm[i],
        carrying: rest.carrying[i],
        slackMm: rest.slackMm[i],
      }));
    },
    trueMmPerTurn: (adjuster, hanger) => linkage.trueMmPerTurn(adjuster, hanger),
    floorAboveGroundMm: (spot, tip) => floorAboveGroundMm(surroundings, spot, tip),
  };
}

/** Where the origin of a machine stands along the bay when its front wheels are where the rear ones were. */
function turnedOriginMm({ wheels }: MachineProfile): number {
  const along = wheels.map((wheel) => wheel.xMm);
  return Math.max(...along) + Math.min(...along);
}

/** Another visit parks, seats and handles afresh; floor, machine and linkage are the same. */
function ofVisit(random: ReturnType<typeof streams>, visit: number): ReturnType<typeof streams> {
  if (visit === 1) return random;
  const again = (name: 'parking' | 'seating' | 'technician' | 'motion' | 'weather') =>
    random[name].split(`visit ${visit}`);
  return {
    ...random,
    parking: again('parking'),
    seating: again('seating'),
    technician: again('technician'),
    motion: again('motion'),
    weather: again('weather'),
  };
}

function headFor(cutHeightMm: number, body: FixtureBody): 0 | 1 {
  const offMm = (head: 0 | 1) => Math.abs(cutHeightMm - body[head].edgeMm[2] - MID_REACH_MM);
  return offMm(0) <= offMm(1) ? 0 : 1;
}

function bladeNamed(blades: readonly Blade[], spindle: string): Blade {
  const blade = blades.find((candidate) => candidate.name === spindle);
  if (blade === undefined) throw new Error(`the machine has no spindle ${spindle}`);
  return blade;
}
