import { inSpace, poseOnEdge, traceBeam, upIn, type Seat } from './beam';
import type { Random } from './random';
import type { FixtureBody, Scene, World } from './world';

export interface BenchOptions {
  readonly body: FixtureBody;
  readonly random: Random;
  /** Slope of the shelf that the height master stands on. */
  readonly shelf?: readonly [slopeX: number, slopeY: number];
  /** How the fixture sits on an edge: along the beam, and its tilt about either axis. */
  readonly seatSdMm?: number;
  readonly tiltSdDeg?: number;
  readonly temperatureC?: number;
  readonly speckleMm?: number;
}

/** Where the simulated hands put the fixture. */
export interface BenchPlace {
  readonly head: 0 | 1;
  /** Of the edge above the plate, and of what lies on the plate under the spot. */
  readonly edgeMm: number;
  readonly blockMm: number;
  /** The master, turned with the fixture on its shelf. */
  readonly turnDeg: number;
  /** The fixture stays seated; only what is under it changes. */
  readonly sameSeat?: true;
  /** What this clamping adds beside the seat's own spread. */
  readonly clampMm?: number;
}

/** A height master on a shelf with a fixture on it: the world for calibrations, checks and studies. */
export interface Bench extends World {
  put(place: BenchPlace): void;
  temperatureC: number;
  /** Presses the fixture's button for a moment of simulated time. */
  press(): void;
}

const RAD = Math.PI / 180;
const PRESSED_US = 150_000;

export function createBench(options: BenchOptions): Bench {
  const {
    body,
    random,
    shelf = [0.001, -0.0006],
    seatSdMm = 0.02,
    tiltSdDeg = 0.3,
    speckleMm = 0.02,
  } = options;
  let nowUs = 0;
  let pressedUntilUs = -1;
  let seat: Seat = { placementMm: 0, rollRad: 0, pitchRad: 0 };
  let scene: Omit<Scene, 'buttonDown' | 'temperatureC'> = {
    distanceMm: undefined,
    speckleMm,
    forceG: [0, 0.8, 0.6],
    turnRateDegS: [0, 0, 0],
    headPosition: 0,
  };
  const bench: Bench = {
    temperatureC: options.temperatureC ?? 20,
    press: () => {
      pressedUntilUs = nowUs + PRESSED_US;
    },
    put: ({ head, edgeMm, blockMm, turnDeg, sameSeat, clampMm = 0 }) => {
      if (sameSeat === undefined)
        seat = {
          placementMm: random.normal(seatSdMm) + clampMm,
          rollRad: random.normal(tiltSdDeg) * RAD,
          pitchRad: random.normal(tiltSdDeg) * RAD,
        };
      const pose = poseOnEdge([0, 0, edgeMm], turnDeg * RAD, ...shelf, seat, body[head]);
      const beam = inSpace(pose, body[head].beam);
      const surface = (x: number, y: number) => shelf[0] * x + shelf[1] * y + blockMm;
      scene = {
        distanceMm: traceBeam(pose.originMm, beam, surface),
        speckleMm,
        forceG: upIn(pose),
        turnRateDegS: [0, 0, 0],
        headPosition: head,
      };
    },
    sceneAt: (timeUs) => {
      nowUs = timeUs;
      return { ...scene, buttonDown: timeUs < pressedUntilUs, temperatureC: bench.temperatureC };
    },
  };
  return bench;
}
