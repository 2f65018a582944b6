/** The session: which phase the fixture is in, what a sample does in it, and when the laser is lit. */
import { HAPPENINGS, LAMPS, WAITING, encodeFrame } from '../../protocol/wire';
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
import { PHASE, bitsOf, codesOf, errorNumber } from './numbers';
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

const HAPPENING = codesOf(HAPPENINGS);
const LAMP = codesOf(LAMPS);
const WAITING_BIT = bitsOf(WAITING);

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

  let phase = PHASE.starting;
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
    return phase === PHASE.armed || phase === PHASE.settling;
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
    phase = PHASE.idle;
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
    if (phase === PHASE.settling) return 'busy';
    if (phase !== PHASE.armed || keeping === undefined) return 'not armed';
    if (keeping.journal.free() === 0) return 'journal full';
    phase = PHASE.settling;
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
      (why.moving ? WAITING_BIT.moving : 0) +
      (why.drifting ? WAITING_BIT.drifting : 0) +
      (why.outOfRange ? WAITING_BIT['out of range'] : 0) +
      (why.tilted ? WAITING_BIT.tilted : 0) +
      (why.glare ? WAITING_BIT.glare : 0) +
      (why.warming ? WAITING_BIT.warming : 0) +
      (why.gathering ? WAITING_BIT.gathering : 0)
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
      bootCount: parts.bootCount(),
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
    phase = PHASE.armed;
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
      phase = PHASE.armed;
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
      happened(HAPPENING['laser off: tilt'], Math.floor(tiltDeg * 100 + 0.5));
    }
    light(measuring() && !darkForTilt);
  }

  function heedButton(press: Press): void {
    if (phase === PHASE.armed && press.kind === 'short') {
      const refused = trigger(TRIGGER_BUTTON);
      if (refused !== undefined) complain(refused, 0);
    } else {
      happened(HAPPENING.button, press.heldMs);
    }
  }

  function watchUse(): void {
    const nowMs = uptime.ms();
    // Whoever turns a nut for minutes without a capture is using it: the reading moves.
    if (observer.waiting.moving || observer.waiting.drifting || phase === PHASE.settling) usedMs = nowMs;
    if (nowMs - usedMs < IDLE_MS_MAX) return;
    stop();
    happened(HAPPENING['laser off: idle'], IDLE_MS_MAX / 1000);
  }

  function watchKnocks(): void {
    const joltUg = observer.joltUg();
    if (joltUg < KNOCKED_UG || knockTold) return;
    knockTold = true;
    happened(HAPPENING.knocked, Math.floor(joltUg / 1000));
  }

  function lampPattern(): number {
    if (phase === PHASE.fault) return LAMP.fault;
    if (hostPattern !== undefined) return hostPattern;
    if (!measuring()) return LAMP.off;
    if (uptime.ms() < capturedUntilMs) return LAMP.captured;
    if (troubled) return LAMP.check;
    return waitingBits() === 0 ? LAMP.settled : LAMP.waiting;
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
      if ((phase === PHASE.fault || phase === PHASE.starting) && !parts.opening()) phase = PHASE.idle;
      return;
    }
    if (phase !== PHASE.fault) {
      nextCheckMs = uptime.ms() + RECHECK_MS;
      phase = PHASE.fault;
      hostPattern = undefined;
    }
    light(false);
    if (uptime.ms() < nextCheckMs) return;
    nextCheckMs = uptime.ms() + RECHECK_MS;
    parts.check();
  }

  /** Piece by piece, at the start and when a lost memory comes back. */
  function openParts(): void {
    if (!parts.opening()) return;
    parts.open();
    if (!parts.opening()) recalibrate();
  }

  recalibrate();
  followFaults();

  return {
    observer,
    phase: () => phase,
    laserOn: () => laser.isOn(),
    arm: (asked) => {
      if (phase === PHASE.fault) return faults.disabling();
      if (calibration === undefined) return 'no calibration';
      // Whoever arms has been told of it and goes on.
      faults.clear('crashed');
      order = asked;
      observer.aim(asked.standardErrorUm);
      phase = PHASE.armed;
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
      if (phase !== PHASE.fault && phase !== PHASE.starting) sample();
      openParts();
      followFaults();
      if (ports.pins.headPosition() !== headPosition) recalibrate();
      gateLaser();
      if (phase === PHASE.settling) settle();
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
