/**
 * Everything the fixture makes of its samples: what it sees now, whether a capture may be taken, and if not, why.
 * `feel` takes the motion part's samples, always; `look` takes the converter's, while the laser is lit.
 */
import { beamOf, captureHeightUm, upward } from '../../protocol/solver/capture-height';
import type { CaptureHeight, WireCalibration, WireReading } from '../../protocol/solver/capture-height';
import { beamTiltCosine, linearise } from '../../protocol/solver/tip-height';
import type { MotionSample } from '../drivers/motion';
import { createDespiker } from './despike';
import { SAMPLES_MIN, createStillWindow } from './still-window';
import { createTurn } from './turn';
import { createWarmUp } from './warm-up';

export const SAMPLE_PERIOD_US = 4000;
const SAMPLES_PER_S = 1000000 / SAMPLE_PERIOD_US;

const TILTED_DEG = 15;
const TILT_EVERY_SAMPLES = 5;
/** What a beam counts as whose direction nobody knows. */
const POINTS_UP_DEG = 180;
/** Half of gravity: what is left of less, after the part's zero is taken off, may point anywhere. */
const FELT_UG_MIN = 500000;
/** Share of each new sample in the force that the live height and the tilt are computed with. */
const FORCE_FOLLOWS = 0.125;
/** So far from the window's mean, the force says that something moved; ten times the part's noise. */
const JOSTLED_UG = 15000;
const JOSTLED_HOLD_SAMPLES = 15;
/** The emitter and the sensor need this long to come up. */
const EMITTER_SAMPLES = 10;
const GLARE_SPIKE_SHARE = 0.15;
const SPIKE_SHARE_FOLLOWS = 1 / 32;
const GLARE_SD_UM = 1500;
const GAIN_EVERY_SAMPLES = 16;
/** Half of the stretch of the calibration over which the gain (um a count) is taken, in counts x 256. */
const GAIN_STRETCH = 64 * 256;

/** Why a capture would have to wait; none set: settled. */
export interface Waiting {
  moving: boolean;
  drifting: boolean;
  outOfRange: boolean;
  tilted: boolean;
  glare: boolean;
  warming: boolean;
  gathering: boolean;
}

/** The still window in the units of the wire. */
export interface StillReading extends WireReading {
  readonly samples: number;
  readonly countsSd: number;
  readonly driftUmS: number;
}

export interface Observer {
  readonly waiting: Waiting;
  /** Uses another calibration and starts the window anew. */
  calibrate(calibration: WireCalibration): void;
  /** Sets how good a mean must be and starts the window anew. */
  aim(standardErrorUm: number): void;
  /** Starts the window anew: what was measured is used up. */
  restart(): void;
  /** The laser was just lit or darkened: forgets what was seen, and waits for it to come up before it looks again. */
  startAfresh(): void;
  /** Whether the laser has shown anything since then. Until it has, readings and heights are 0. */
  sees(): boolean;
  feel(felt: MotionSample, seconds: number, uptimeMs: number): void;
  look(counts: number): void;
  /** Angle of the beam from straight down. */
  tiltDeg(): number;
  turnedDeg(): number;
  zeroTurn(): void;
  /** Largest departure of the force from 1 g since this was last asked. */
  joltUg(): number;
  temperatureCentiC(): number;
  /** Size of the measured force. */
  forceUg(): number;
  /** Newest despiked reading in counts x 256. */
  countsNow(): number;
  heightNow(): CaptureHeight;
  /** Of the mean that the window gives now; undefined while it holds too few samples to tell. */
  standardErrorUm(): number | undefined;
  /** Means over the still window, which must not be empty. */
  stillReading(): StillReading;
}

export function createObserver(): Observer {
  const despiker = createDespiker();
  const window = createStillWindow();
  const turn = createTurn();
  const warmUp = createWarmUp();
  const waiting: Waiting = {
    moving: true,
    drifting: false,
    outOfRange: false,
    tilted: false,
    glare: false,
    warming: true,
    gathering: true,
  };

  let calibration: WireCalibration = PLUMB;
  let firstKnot = 0;
  let lastKnot = 0;
  let aimUm = 10;
  let umPerCount = 1;

  let felt = false;
  let forceX = 0;
  let forceY = 0;
  let forceZ = 0;
  let jolt = 0;
  let temperature = 0;
  let jostledHold = 0;
  let tiltDeg = POINTS_UP_DEG;
  let tiltDue = 0;

  let counts = 0;
  let seen = false;
  let comingUp = EMITTER_SAMPLES;
  let spikeShare = 0;

  function restart(): void {
    window.restart();
    waiting.drifting = false;
    waiting.glare = false;
    waiting.gathering = true;
  }

  function judgeRange(): void {
    waiting.outOfRange = seen && (counts * 256 < firstKnot || counts * 256 > lastKnot);
  }

  function measureTilt(): void {
    const reading = { countsMean: 0, gravityX: forceX, gravityY: forceY, gravityZ: forceZ, temperature };
    const cosine = beamTiltCosine(beamOf(calibration), upward(calibration, reading));
    // Without any force there is no down, and the comparison of the cosine is false.
    const known = cosine >= -1 && length(forceX, forceY, forceZ) > FELT_UG_MIN;
    tiltDeg = known ? (Math.acos(Math.min(1, cosine)) * 180) / Math.PI : POINTS_UP_DEG;
    waiting.tilted = tiltDeg > TILTED_DEG;
  }

  function followForce(sample: MotionSample): void {
    const follow = felt ? FORCE_FOLLOWS : 1;
    felt = true;
    forceX += follow * (sample.forceXUg - forceX);
    forceY += follow * (sample.forceYUg - forceY);
    forceZ += follow * (sample.forceZUg - forceZ);
    // A part that shows more than the wire can carry is broken; the program must not break with it.
    temperature = Math.max(-32768, Math.min(32767, sample.temperatureCentiC));
    const departure = Math.abs(length(sample.forceXUg, sample.forceYUg, sample.forceZUg) - 1000000);
    if (departure > jolt) jolt = departure;
  }

  function jostled(sample: MotionSample): boolean {
    return (
      Math.abs(sample.forceXUg - window.meanForce(0)) > JOSTLED_UG ||
      Math.abs(sample.forceYUg - window.meanForce(1)) > JOSTLED_UG ||
      Math.abs(sample.forceZUg - window.meanForce(2)) > JOSTLED_UG
    );
  }

  /** How many micrometres one count is, where the window lies. */
  function gainHere(): number {
    const below = linearise(calibration.knots, counts * 256 - GAIN_STRETCH).distanceUm;
    const above = linearise(calibration.knots, counts * 256 + GAIN_STRETCH).distanceUm;
    return Math.max(1e-3, Math.abs(above - below) / ((2 * GAIN_STRETCH) / 256));
  }

  function gather(): void {
    if (window.samples() % GAIN_EVERY_SAMPLES === 0) umPerCount = gainHere();
    window.add(
      counts,
      lastFelt.forceXUg,
      lastFelt.forceYUg,
      lastFelt.forceZUg,
      temperature,
      aimUm / umPerCount,
    );
    waiting.drifting = window.drifting();
    const enough = window.samples() >= SAMPLES_MIN;
    waiting.gathering = !enough || (window.standardError() as number) * umPerCount > aimUm;
    waiting.glare =
      spikeShare > GLARE_SPIKE_SHARE || (enough && window.standardDeviation() * umPerCount > GLARE_SD_UM);
  }

  let lastFelt: MotionSample = NOTHING_FELT;

  return {
    waiting,
    calibrate: (next) => {
      calibration = next;
      firstKnot = next.knots[0];
      lastKnot = next.knots[next.knots.length - 2];
      judgeRange();
      restart();
    },
    aim: (standardErrorUm) => {
      aimUm = standardErrorUm;
      restart();
    },
    restart: () => restart(),
    startAfresh: () => {
      seen = false;
      counts = 0;
      judgeRange();
      comingUp = EMITTER_SAMPLES;
      despiker.restart();
      spikeShare = 0;
      restart();
    },
    sees: () => seen,
    feel: (sample, seconds, uptimeMs) => {
      lastFelt = sample;
      followForce(sample);
      turn.take(sample.rateXMdegS, sample.rateYMdegS, sample.rateZMdegS, forceX, forceY, forceZ, seconds);
      warmUp.take(sample.temperatureCentiC, uptimeMs);
      if (window.samples() >= 8 && jostled(sample)) jostledHold = JOSTLED_HOLD_SAMPLES;
      else if (jostledHold > 0) jostledHold -= 1;
      waiting.moving = turn.moving() || jostledHold > 0;
      if (tiltDue === 0) measureTilt();
      tiltDue = tiltDue === 0 ? TILT_EVERY_SAMPLES - 1 : tiltDue - 1;
      waiting.warming = warmUp.warming();
    },
    look: (raw) => {
      if (comingUp > 0) {
        comingUp -= 1;
        return;
      }
      const despiked = despiker.push(raw);
      if (despiked === undefined) return;
      counts = despiked;
      seen = true;
      spikeShare += SPIKE_SHARE_FOLLOWS * ((despiker.wasSpike() ? 1 : 0) - spikeShare);
      judgeRange();
      if (waiting.moving || waiting.outOfRange || waiting.tilted) {
        window.restart();
        waiting.drifting = false;
        waiting.gathering = true;
      } else {
        gather();
      }
    },
    tiltDeg: () => tiltDeg,
    turnedDeg: () => turn.turnedDeg(),
    zeroTurn: () => turn.zero(),
    joltUg: () => {
      const largest = jolt;
      jolt = 0;
      return largest;
    },
    temperatureCentiC: () => temperature,
    forceUg: () => length(forceX, forceY, forceZ),
    countsNow: () => counts * 256,
    heightNow: () =>
      seen
        ? captureHeightUm(calibration, {
            countsMean: counts * 256,
            gravityX: forceX,
            gravityY: forceY,
            gravityZ: forceZ,
            temperature,
          })
        : NOTHING_SEEN,
    standardErrorUm: () => {
      const error = window.samples() < SAMPLES_MIN ? undefined : window.standardError();
      return error === undefined ? undefined : error * umPerCount;
    },
    stillReading: () => ({
      samples: window.samples(),
      countsMean: rounded(window.mean() * 256),
      countsSd: rounded(window.standardDeviation() * 256),
      driftUmS: rounded(window.slope() * umPerCount * SAMPLES_PER_S),
      gravityX: rounded(window.meanForce(0)),
      gravityY: rounded(window.meanForce(1)),
      gravityZ: rounded(window.meanForce(2)),
      temperature: rounded(window.meanTemperature()),
    }),
  };
}

/** Until a calibration is known the tilt is that of a head that points straight down. */
const PLUMB: WireCalibration = {
  beamX: 0,
  beamY: 0,
  beamZ: -1000000000,
  edgeX: 0,
  edgeY: 0,
  edgeZ: 0,
  gravityBiasX: 0,
  gravityBiasY: 0,
  gravityBiasZ: 0,
  temperatureReference: 2000,
  temperatureGain: 0,
  knots: [],
};

const NOTHING_SEEN: CaptureHeight = { distanceUm: 0, heightUm: 0, inRange: false };

const NOTHING_FELT: MotionSample = {
  temperatureCentiC: 0,
  rateXMdegS: 0,
  rateYMdegS: 0,
  rateZMdegS: 0,
  forceXUg: 0,
  forceYUg: 0,
  forceZUg: 0,
};

function length(x: number, y: number, z: number): number {
  return Math.sqrt(x * x + y * y + z * z);
}

/** Half up, as the wire's whole numbers are rounded everywhere. */
function rounded(x: number): number {
  return Math.floor(x + 0.5);
}
