import { inSpace, poseOnEdge, traceBeam, upIn, type Pose, type Vector } from './beam';
import { circleHeightMm, halfBendMm, shortWayDeg, type Blade } from './blade';
import type { Floor } from './floor';
import { addPlanes, heightAt, type Plane, type Spot } from './plane';
import { RINGING_TAU_US, type Hold, type Motion, type Stage } from './stage';
import { inBay, type Parked, type Standing } from './standing';
import type { FixtureBody, HeadShape, Scene } from './world';

/** What stands still for the whole visit: all that a scene needs besides the stage. */
export interface Surroundings {
  readonly blades: readonly Blade[];
  readonly floor: Floor;
  readonly parked: Parked;
  readonly standing: Standing;
  readonly body: FixtureBody;
  readonly speckleMm: number;
  readonly temperatureC: number;
  /** Thickness of the plate under the spot; 0: none. */
  readonly plateMm: number;
}

const RAD = Math.PI / 180;
/** Up in the frame of a fixture that lies on its side on the bench. */
const ON_ITS_SIDE: Vector = [0, 0.8, 0.6];
const STILL: Vector = [0, 0, 0];
/** A carried fixture reaches its place after this share of the way; before, its beam points anywhere. */
const CARRIED_UNTIL = 0.6;
/** Tremor along the beam of a hand that sets, turns or touches. */
const TREMOR_MM = { carry: 2, move: 0.8, touch: 0.1 } as const;
/** Tilt that goes with a millimetre of tremor. */
const TREMOR_RAD_PER_MM = 0.01;
/** Share of the tremor that is left to ring when the hand lets go. */
const LET_GO = 0.3;

/** The scene of a stage at which nothing moves. */
export function stillScene(at: Surroundings, stage: Stage): Scene {
  return sceneOf(at, stage, false, STILL);
}

/** The scene in the middle of a motion, or while it rings out. */
export function movingScene(at: Surroundings, motion: Motion, timeUs: number): Scene {
  const durationUs = motion.endUs - motion.startUs;
  const share = durationUs > 0 ? Math.min(1, (timeUs - motion.startUs) / durationUs) : 1;
  const buttonDown = motion.kind === 'touch' && share < 1;
  // Work on the machine shakes what is clamped to it, not what lies in its cradle.
  const felt = motion.kind !== 'move' || motion.to.hold.where === 'blade';
  const tremor = felt ? tremorAt(motion, timeUs, share) : NO_TREMOR;
  if (motion.kind === 'carry' && share < CARRIED_UNTIL) return carriedScene(at, motion, tremor);

  const done = share * share * (3 - 2 * share);
  const deck =
    motion.deckAt?.(done) ??
    addPlanes(motion.from.deck, addPlanes(motion.to.deck, motion.from.deck, -1), done);
  const turning = turningAt(motion, share, done, durationUs);
  const hold = shaken(turning.hold, tremor);
  const scene = sceneOf(at, { deck, hold, head: motion.to.head }, buttonDown, STILL);
  const [upX, upY, upZ] = scene.forceG;
  const rate = turning.rateDegS;
  return {
    ...scene,
    turnRateDegS: [rate * upX + tremor.rollRateDegS, rate * upY + tremor.pitchRateDegS, rate * upZ],
  };
}

/** Smooth floor at a spot above the ground plane at a tip (places of the machine): what a perfect survey would give. */
export function floorAboveGroundMm(at: Surroundings, spot: Spot, tip: Spot): number {
  const inTheBay = inBay(at.parked, spot.xMm, spot.yMm);
  return at.floor.heightMm(inTheBay.xMm, inTheBay.yMm) - heightAt(at.standing.ground, tip.xMm, tip.yMm);
}

function sceneOf(at: Surroundings, stage: Stage, buttonDown: boolean, turnRateDegS: Vector): Scene {
  const rest = { headPosition: stage.head, buttonDown, turnRateDegS, temperatureC: at.temperatureC };
  const head = at.body[stage.head];
  const { hold } = stage;
  switch (hold.where) {
    case 'hand':
      return { ...rest, distanceMm: undefined, speckleMm: at.speckleMm, forceG: ON_ITS_SIDE };
    case 'master': {
      const pose = poseOnEdge([0, 0, hold.edgeMm], 0, 0, 0, hold, head);
      const distanceMm = traceBeam(pose.originMm, inSpace(pose, head.beam), () => 0);
      return { ...rest, distanceMm, speckleMm: at.speckleMm, forceG: upIn(pose) };
    }
    case 'blade': {
      const pose = poseOnBlade(at, stage.deck, hold, head);
      const beam = inSpace(pose, head.beam);
      const { floor, plateMm } = at;
      // A plate is laid where the beam goes, and lies still while the reading settles; it is matt wherever the floor shines.
      const onPlateMm =
        plateMm > 0 ? plateMm + floor.plateRiseMm(pose.originMm[0], pose.originMm[1]) : undefined;
      const distanceMm = traceBeam(
        pose.originMm,
        beam,
        (x, y) => floor.heightMm(x, y) + (onPlateMm ?? floor.textureMm(x, y)),
      );
      const reach = distanceMm ?? 0;
      const speckleMm =
        onPlateMm === undefined
          ? floor.speckleMm(pose.originMm[0] + reach * beam[0], pose.originMm[1] + reach * beam[1])
          : at.speckleMm;
      return { ...rest, distanceMm, speckleMm, forceG: upIn(pose) };
    }
  }
}

function poseOnBlade(at: Surroundings, deck: Plane, hold: Hold & { where: 'blade' }, head: HeadShape): Pose {
  const blade = at.blades[hold.spindle];
  const radiusMm = blade.tipRadiusMm - hold.alongMm;
  const cos = Math.cos(hold.headingDeg * RAD);
  const sin = Math.sin(hold.headingDeg * RAD);
  // A bend grows evenly from the hub to the tip.
  const bendSlope = ((hold.end === 'A' ? 1 : -1) * halfBendMm(blade)) / blade.tipRadiusMm;
  const inBayPlane = addPlanes(deck, at.standing.chassis);
  const edgeZ = circleHeightMm(blade, inBayPlane, hold.headingDeg, radiusMm) + bendSlope * radiusMm;
  const edge = inBay(at.parked, blade.xMm + radiusMm * cos, blade.yMm + radiusMm * sin);

  const slopeForward = inBayPlane.slopeX + blade.tiltX + bendSlope * cos;
  const slopeLeft = inBayPlane.slopeY + blade.tiltY + bendSlope * sin;
  const parkedCos = Math.cos(at.parked.headingRad);
  const parkedSin = Math.sin(at.parked.headingRad);
  return poseOnEdge(
    [edge.xMm, edge.yMm, edgeZ],
    hold.headingDeg * RAD + at.parked.headingRad + Math.PI,
    parkedCos * slopeForward - parkedSin * slopeLeft,
    parkedSin * slopeForward + parkedCos * slopeLeft,
    hold,
    head,
  );
}

interface Tremor {
  readonly shiftMm: number;
  readonly rollRad: number;
  readonly pitchRad: number;
  readonly rollRateDegS: number;
  readonly pitchRateDegS: number;
}

const NO_TREMOR: Tremor = { shiftMm: 0, rollRad: 0, pitchRad: 0, rollRateDegS: 0, pitchRateDegS: 0 };

/** The tremor of a hand: two tones that swell and fade with the motion, and ring on afterwards. */
function tremorAt(motion: Motion, timeUs: number, share: number): Tremor {
  const swell =
    share < 1
      ? Math.max(LET_GO, Math.sin(Math.PI * share))
      : LET_GO * Math.exp(-(timeUs - motion.endUs) / RINGING_TAU_US);
  const amplitudeMm = TREMOR_MM[motion.kind] * swell;
  const seconds = timeUs * 1e-6;
  const slow = 2 * Math.PI * 2.7;
  const fast = 2 * Math.PI * 7.1;
  const [p, q] = motion.phases;
  const roll = 0.7 * Math.sin(slow * seconds + p) + 0.3 * Math.sin(fast * seconds + q);
  const pitch = 0.7 * Math.sin(slow * seconds + q) + 0.3 * Math.sin(fast * seconds + p);
  const rollPerS = 0.7 * slow * Math.cos(slow * seconds + p) + 0.3 * fast * Math.cos(fast * seconds + q);
  const pitchPerS = 0.7 * slow * Math.cos(slow * seconds + q) + 0.3 * fast * Math.cos(fast * seconds + p);
  const tilt = amplitudeMm * TREMOR_RAD_PER_MM;
  return {
    shiftMm: amplitudeMm * roll,
    rollRad: tilt * roll,
    pitchRad: tilt * pitch,
    rollRateDegS: (tilt * rollPerS) / RAD,
    pitchRateDegS: (tilt * pitchPerS) / RAD,
  };
}

/** In a hand the fixture points anywhere, and there is no floor in its beam. */
function carriedScene(at: Surroundings, motion: Motion, tremor: Tremor): Scene {
  const tilt = 1 + 5 * tremor.rollRad;
  return {
    distanceMm: undefined,
    speckleMm: at.speckleMm,
    forceG: [0, Math.sin(tilt), Math.cos(tilt)],
    turnRateDegS: [5 * tremor.rollRateDegS, tremor.pitchRateDegS, 0],
    temperatureC: at.temperatureC,
    headPosition: motion.to.head,
    buttonDown: false,
  };
}

/** The hold on the way of a blade that is being turned with the fixture on it, and how fast it turns. */
function turningAt(motion: Motion, share: number, done: number, durationUs: number) {
  const { from, to } = { from: motion.from.hold, to: motion.to.hold };
  if (motion.kind !== 'move' || from.where !== 'blade' || to.where !== 'blade' || share >= 1) {
    return { hold: to, rateDegS: 0 };
  }
  const angleDeg = shortWayDeg(from.headingDeg, to.headingDeg);
  return {
    hold: { ...to, headingDeg: from.headingDeg + angleDeg * done },
    rateDegS: (angleDeg * 6 * share * (1 - share)) / (durationUs * 1e-6),
  };
}

function shaken(hold: Hold, tremor: Tremor): Hold {
  if (hold.where === 'hand') return hold;
  return {
    ...hold,
    placementMm: hold.placementMm + tremor.shiftMm,
    rollRad: hold.rollRad + tremor.rollRad,
    pitchRad: hold.pitchRad + tremor.pitchRad,
  };
}
