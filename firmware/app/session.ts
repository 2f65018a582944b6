/** The session: which phase the fixture is in, what a sample does in it, and when the laser is lit. */
import { HAPPENINGS, LAMPS, PHASES, WAITING, encodeFrame } from '../../protocol/wire';
import type { Body, FixtureErrorName } from '../../protocol/wire';
import { captureHeightUm } from '../../protocol/solver/capture-height';
import { createButton } from '../drivers/button';
import type { Press } from '../drivers/button';
import { createLamp } from '../drivers/lamp';
import { createLaser } from '../drivers/laser';
import type { Ports } from '../ports/ports';
import { createObserver } from '../sensing/observer';
import type { Observer } from '../sensing/observer';
import type { Faults } from './faults';
import { bitOf, codeOf, errorNumber } from './numbers';
import type { Outbox } from './outbox';
import type { Parts } from './parts';
import type { Uptime } from './uptime';

const SETTLE_MS_MAX = 30000;
const IDLE_MS_MAX = 120000;
const DARK_ABOVE_DEG = 30;
/** Once dark for tilt, the beam must come this near to straight down again. */
const LIT_BELOW_DEG = 28;
const KNOCKED_UG = 500000;
const RECHECK_MS = 1000;
const CAPTURED_SHOWN_MS = 2000;

const STARTING = codeOf(PHASES, 'starting');
const IDLE = codeOf(PHASES, 'idle');
const ARMED = codeOf(PHASES, 'armed');
const SETTLING = codeOf(PHASES, 'settling');
const FAULT = codeOf(PHASES, 'fault');

const MOVING = bitOf(WAITING, 'moving');
const DRIFTING = bitOf(WAITING, 'drifting');
const OUT_OF_RANGE = bitOf(WAITING, 'out of range');
const TILTED = bitOf(WAITING, 'tilted');
const GLARE = bitOf(WAITING, 'glare');
const WARMING = bitOf(WAITING, 'warming');
const GATHERING = bitOf(WAITING, 'gathering');

const TRIGGER_HOST = 0;
const TRIGGER_BUTTON = 1;

export interface Session {
  readonly observer: Observer;
  phase(): number;
  laserOn(): boolean;
  /** Each returns the error that stands against it, or undefined when it is done. */
  arm(order: Body<'arm'>): FixtureErrorName | undefined;
  trigger(): FixtureErrorName | undefined;
  disarm(): void;
  show(pattern: number): void;
  /** Loads the calibration of the head's position anew. */
  recalibrate(): void;
  /** Lights the laser for the self test, unless the beam points away from the ground. Returns whether it is lit. */
  testLaser(on: boolean): boolean;
  /** To be called once a sample period. */
  tick(): void;
}

export function createSession(
  ports: Ports,
  parts: Parts,
  faults: Faults,
  outbox: Outbox,
  uptime: Uptime,
): Session {
  const laser = createLaser(ports.pins);
  const lamp = createLamp(ports.pins);
  const button = createButton(ports.pins);
  const observer = createObserver();

  let phase = STARTING;
  let order: Body<'arm'> = NOTHING_ORDERED;
  let headPosition = -1;
  let calibration: Body<'calibration'> | undefined = undefined;
  let testing = false;

  let triggeredBy = TRIGGER_HOST;
  let triggeredMs = 0;
  let usedMs = 0;
  let nextLiveUs = 0;
  let nextCheckMs = 0;
  let lastSampleUs = uptime.us();
  let darkForTilt = false;
  let knockTold = false;

  let hostPattern: number | undefined = undefined;
  let capturedUntilMs = 0;
  let troubled = false;
  let noticeCount = 0;

  function measuring(): boolean {
    return phase === ARMED || phase === SETTLING;
  }

  /** Notices are numbered in a circle of their own, so that the host can count those that were lost. */
  function countNotice(): number {
    const count = noticeCount;
    noticeCount = count === 255 ? 0 : count + 1;
    return count;
  }

  function happened(what: number, value: number): void {
    outbox.send({ name: 'happened', sequence: countNotice(), body: { what, value } });
  }

  function complain(error: FixtureErrorName, detail: number): void {
    troubled = true;
    outbox.send({ name: 'error', sequence: 0, body: { code: errorNumber(error), aboutMessage: 0, detail } });
  }

  /** What was seen before the laser was lit or darkened counts no more. */
  function light(on: boolean): void {
    if (on !== laser.isOn()) observer.startAfresh();
    laser.set(on);
  }

  function stop(): void {
    phase = IDLE;
    light(false);
  }

  function recalibrate(): void {
    headPosition = ports.pins.headPosition();
    const keeping = parts.keeping();
    calibration = keeping === undefined ? undefined : keeping.calibration(headPosition);
    if (calibration !== undefined) {
      faults.clear('no calibration');
      observer.calibrate(calibration);
    } else if (keeping !== undefined) {
      if (measuring()) stop();
      faults.raise('no calibration');
    }
  }

  function trigger(by: number): FixtureErrorName | undefined {
    const keeping = parts.keeping();
    if (phase === SETTLING) return 'busy';
    if (phase !== ARMED || keeping === undefined) return 'not armed';
    if (keeping.journal.free() === 0) return 'journal full';
    phase = SETTLING;
    triggeredBy = by;
    triggeredMs = uptime.ms();
    usedMs = triggeredMs;
    troubled = false;
    hostPattern = undefined;
    return undefined;
  }

  function waitingBits(): number {
    const why = observer.waiting;
    return (
      (why.moving ? MOVING : 0) +
      (why.drifting ? DRIFTING : 0) +
      (why.outOfRange ? OUT_OF_RANGE : 0) +
      (why.tilted ? TILTED : 0) +
      (why.glare ? GLARE : 0) +
      (why.warming ? WARMING : 0) +
      (why.gathering ? GATHERING : 0)
    );
  }

  /** Takes the still window as a capture. It is in the journal before anybody hears of it. */
  function capture(): void {
    const keeping = parts.keeping();
    if (keeping === undefined || calibration === undefined) return;
    const still = observer.stillReading();
    const { distanceUm, heightUm } = captureHeightUm(calibration, still);
    const number = keeping.journal.nextNumber();
    const body: Body<'captured'> = {
      capture: number,
      bootCount: keeping.bootCount,
      uptimeMs: uptime.ms() % 4294967296,
      job: order.job,
      step: order.step,
      purpose: order.purpose,
      trigger: triggeredBy,
      headPosition,
      calibrationVersion: calibration.version,
      samples: Math.min(65535, still.samples),
      countsMean: still.countsMean,
      countsSd: still.countsSd,
      drift: still.driftUmS,
      gravityX: still.gravityX,
      gravityY: still.gravityY,
      gravityZ: still.gravityZ,
      turned: Math.floor(observer.turnedDeg() * 100 + 0.5),
      temperature: still.temperature,
      waitedMs: Math.min(65535, uptime.ms() - triggeredMs),
      distance: distanceUm,
      height: heightUm,
    };
    phase = ARMED;
    if (!keeping.journal.keep(encodeFrame({ name: 'captured', sequence: 0, body }))) {
      faults.raise('memory missing');
      return;
    }
    outbox.announceFrom(number);
    observer.restart();
    observer.zeroTurn();
    knockTold = false;
    usedMs = uptime.ms();
    capturedUntilMs = usedMs + CAPTURED_SHOWN_MS;
    hostPattern = undefined;
  }

  function settle(): void {
    const waiting = waitingBits();
    if (waiting === 0) {
      capture();
    } else if (uptime.ms() - triggeredMs >= SETTLE_MS_MAX) {
      phase = ARMED;
      usedMs = uptime.ms();
      complain('not settled', waiting);
    }
  }

  function sendLive(): void {
    const error = observer.standardErrorUm();
    const { distanceUm, heightUm } = observer.heightNow();
    outbox.sendFresh({
      name: 'live',
      sequence: countNotice(),
      body: {
        uptimeMs: uptime.ms() % 4294967296,
        phase,
        waiting: waitingBits(),
        counts: observer.countsNow(),
        distance: distanceUm,
        height: heightUm,
        tilt: Math.floor(observer.tiltDeg() * 100 + 0.5),
        turned: Math.floor(observer.turnedDeg() * 100 + 0.5),
        standardErrorUm: error === undefined ? 65535 : Math.min(65535, Math.floor(error + 0.5)),
      },
    });
  }

  function streamLive(): void {
    if (order.liveHz === 0 || uptime.us() < nextLiveUs) return;
    // While the laser comes up there is nothing to show yet; while it is dark for tilt the host must hear why.
    if (laser.isOn() && !observer.sees()) {
      nextLiveUs = uptime.us();
      return;
    }
    const periodUs = 1000000 / order.liveHz;
    nextLiveUs = Math.max(nextLiveUs + periodUs, uptime.us());
    sendLive();
  }

  /** Lit only while measuring, and never into somebody's eyes. */
  function gateLaser(): void {
    const tiltDeg = observer.tiltDeg();
    const wasDark = darkForTilt;
    darkForTilt = tiltDeg > (darkForTilt ? LIT_BELOW_DEG : DARK_ABOVE_DEG);
    if (testing) {
      if (darkForTilt) light(false);
      return;
    }
    if (measuring() && darkForTilt && !wasDark) {
      happened(codeOf(HAPPENINGS, 'laser off: tilt'), Math.floor(tiltDeg * 100 + 0.5));
    }
    light(measuring() && !darkForTilt);
  }

  function heedButton(press: Press): void {
    if (phase === ARMED && press.kind === 'short') {
      const refused = trigger(TRIGGER_BUTTON);
      if (refused !== undefined) complain(refused, 0);
    } else {
      happened(codeOf(HAPPENINGS, 'button'), press.heldMs);
    }
  }

  function watchUse(): void {
    const nowMs = uptime.ms();
    // Whoever turns a nut for minutes without a capture is using it: the reading moves.
    if (observer.waiting.moving || observer.waiting.drifting || phase === SETTLING) usedMs = nowMs;
    if (nowMs - usedMs < IDLE_MS_MAX) return;
    stop();
    happened(codeOf(HAPPENINGS, 'laser off: idle'), IDLE_MS_MAX / 1000);
  }

  function watchKnocks(): void {
    const joltUg = observer.joltUg();
    if (joltUg < KNOCKED_UG || knockTold) return;
    knockTold = true;
    happened(codeOf(HAPPENINGS, 'knocked'), Math.floor(joltUg / 1000));
  }

  function lampPattern(): number {
    if (phase === FAULT) return codeOf(LAMPS, 'fault');
    if (hostPattern !== undefined) return hostPattern;
    if (!measuring()) return codeOf(LAMPS, 'off');
    if (uptime.ms() < capturedUntilMs) return codeOf(LAMPS, 'captured');
    if (troubled) return codeOf(LAMPS, 'check');
    return waitingBits() === 0 ? codeOf(LAMPS, 'settled') : codeOf(LAMPS, 'waiting');
  }

  function sample(): void {
    const seconds = (uptime.us() - lastSampleUs) / 1000000;
    lastSampleUs = uptime.us();
    const felt = parts.readMotion();
    if (felt !== undefined) observer.feel(felt, seconds, uptime.ms());
    const counts = parts.readCounts();
    if (counts !== undefined && laser.isOn() && felt !== undefined) observer.look(counts);
  }

  function followFaults(): void {
    if (faults.disabling() === undefined) {
      if (phase === FAULT || phase === STARTING) phase = IDLE;
      return;
    }
    if (phase !== FAULT) {
      nextCheckMs = uptime.ms() + RECHECK_MS;
      phase = FAULT;
      hostPattern = undefined;
    }
    light(false);
    if (uptime.ms() < nextCheckMs) return;
    nextCheckMs = uptime.ms() + RECHECK_MS;
    parts.check();
    if (faults.disabling() === undefined) recalibrate();
  }

  recalibrate();
  followFaults();

  return {
    observer,
    phase: () => phase,
    laserOn: () => laser.isOn(),
    arm: (asked) => {
      if (phase === FAULT) return faults.disabling();
      if (calibration === undefined) return 'no calibration';
      // Whoever arms has been told of it and goes on.
      faults.clear('crashed');
      order = asked;
      observer.aim(asked.standardErrorUm);
      phase = ARMED;
      usedMs = uptime.ms();
      nextLiveUs = uptime.us();
      troubled = false;
      knockTold = false;
      capturedUntilMs = 0;
      observer.joltUg();
      hostPattern = undefined;
      gateLaser();
      return undefined;
    },
    trigger: () => trigger(TRIGGER_HOST),
    disarm: () => {
      if (measuring()) stop();
    },
    show: (pattern) => {
      hostPattern = pattern;
    },
    recalibrate: () => recalibrate(),
    testLaser: (on) => {
      testing = on;
      light(on && !darkForTilt);
      return laser.isOn();
    },
    tick: () => {
      if (phase !== FAULT) sample();
      followFaults();
      if (ports.pins.headPosition() !== headPosition) recalibrate();
      gateLaser();
      if (phase === SETTLING) settle();
      if (measuring()) {
        streamLive();
        watchKnocks();
        watchUse();
      }
      const press = button.poll(uptime.ms());
      if (press !== undefined) heedButton(press);
      lamp.show(lampPattern());
      lamp.poll(uptime.ms());
    },
  };
}

const NOTHING_ORDERED: Body<'arm'> = { job: 0, step: 0, purpose: 0, liveHz: 0, standardErrorUm: 10 };
