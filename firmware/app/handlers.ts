/**
 * One handler for each request of the message table. Each looks first at what the request says, then at the phase, then at
 * memory and parts.
 */
import {
  LAMPS,
  PROTOCOL_MAJOR,
  PROTOCOL_MINOR,
  PURPOSES,
  REBOOT_CONFIRMATION,
  TABLE_HASH,
} from '../../protocol/wire';
import type { Body, FixtureErrorName, ReplyTo, RequestName } from '../../protocol/wire';
import type { Ports } from '../ports/ports';
import { calibrationFault } from './calibration';
import type { Faults } from './faults';
import { PHASE } from './numbers';
import type { Outbox } from './outbox';
import type { Parts } from './parts';
import type { SelfTest } from './self-test';
import type { Session } from './session';
import type { Uptime } from './uptime';

export const FIRMWARE_VERSION = '0.1.0';
/** The firmware's numbers are doubles on every board so far. */
const NUMBER_BITS = 64;
const LIVE_HZ_MAX = 50;
const PURPOSE_COUNT = PURPOSES.length;
const LAMP_COUNT = LAMPS.length;

/** What a handler makes of a request. */
export type Answer<N extends RequestName> =
  | { readonly kind: 'reply'; readonly body: Body<ReplyTo<N>> }
  | { readonly kind: 'refused'; readonly error: FixtureErrorName; readonly detail: number }
  /** The reply comes later, through the function given to the handler. */
  | { readonly kind: 'later' };

export type Handlers = {
  readonly [N in RequestName]: (body: Body<N>, answerLater: (body: Body<ReplyTo<N>>) => void) => Answer<N>;
};

/** What the handlers act on. */
export interface Fixture {
  readonly ports: Ports;
  readonly parts: Parts;
  readonly faults: Faults;
  readonly outbox: Outbox;
  readonly uptime: Uptime;
  readonly session: Session;
  readonly selfTest: SelfTest;
  /** Restarts the board, ready for new firmware, once the reply is on its way. */
  restartToUpdate(): void;
}

export function createHandlers(fixture: Fixture): Handlers {
  const { ports, parts, faults, outbox, uptime, session, selfTest } = fixture;

  function busy(): boolean {
    const phase = session.phase();
    return phase === PHASE.armed || phase === PHASE.settling || selfTest.running();
  }

  return {
    identify: () =>
      reply({
        protocolMajor: PROTOCOL_MAJOR,
        protocolMinor: PROTOCOL_MINOR,
        tableHash: TABLE_HASH,
        numberBits: NUMBER_BITS,
        bootCount: parts.bootCount(),
        firmwareVersion: FIRMWARE_VERSION,
        board: ports.facts.board,
        fixtureId: ports.facts.fixtureId,
      }),
    'reboot-to-update': (body) => {
      if (body.confirmation !== REBOOT_CONFIRMATION) return refuse('not confirmed');
      fixture.restartToUpdate();
      return reply({});
    },
    'report-status': () => {
      const keeping = parts.keeping();
      return reply({
        uptimeMs: uptime.ms() % 4294967296,
        phase: session.phase(),
        faults: faults.bits(),
        unacknowledged: keeping === undefined ? 0 : keeping.journal.kept(),
        journalFree: keeping === undefined ? 0 : keeping.journal.free(),
        resetCause: ports.supervisor.resetCause(),
        headPosition: ports.pins.headPosition(),
        temperature: Math.floor(session.observer.temperatureCentiC() + 0.5),
        laserOn: session.laserOn() ? 1 : 0,
      });
    },
    'self-test': (_body, answerLater) => {
      if (busy()) return refuse('busy');
      selfTest.start(answerLater);
      return { kind: 'later' };
    },
    'read-calibration': (body) => {
      if (body.headPosition > 1) return refuse('malformed message');
      const keeping = parts.keeping();
      if (keeping === undefined) return refuse('memory missing');
      const calibration = keeping.calibration(body.headPosition);
      return calibration === undefined ? refuse('no calibration') : reply(calibration);
    },
    'write-calibration': (body) => {
      const fault = calibrationFault(body);
      if (fault !== undefined) return refuse(fault);
      if (busy()) return refuse('busy');
      const keeping = parts.keeping();
      if (keeping === undefined) return refuse('memory missing');
      // Nobody could compute their heights again once the calibration is gone that they were taken with.
      if (keeping.journal.kept() > 0) return refuse('captures waiting');
      const version = keeping.replaceCalibration(body);
      if (version === undefined) {
        faults.raise('memory missing');
        return refuse('memory missing');
      }
      session.recalibrate();
      return reply({ version });
    },
    arm: (body) => {
      if (body.liveHz > LIVE_HZ_MAX || body.standardErrorUm === 0 || body.purpose >= PURPOSE_COUNT)
        return refuse('malformed message');
      if (selfTest.running()) return refuse('busy');
      const keeping = parts.keeping();
      const error = session.arm(body);
      if (error !== undefined) return refuse(error);
      return reply({ nextCapture: keeping === undefined ? 0 : keeping.journal.nextNumber() });
    },
    capture: () => {
      const error = session.trigger();
      return error === undefined ? reply({}) : refuse(error);
    },
    disarm: () => {
      session.disarm();
      return reply({});
    },
    resend: () => {
      const keeping = parts.keeping();
      if (keeping === undefined) return refuse('memory missing');
      outbox.announceFrom(1);
      return reply({ count: keeping.journal.kept() });
    },
    acknowledge: (body) => {
      const keeping = parts.keeping();
      if (keeping === undefined) return refuse('memory missing');
      if (!keeping.journal.acknowledge(body.capture)) {
        faults.raise('memory missing');
        return refuse('memory missing');
      }
      return reply({ unacknowledged: keeping.journal.kept() });
    },
    show: (body) => {
      if (body.pattern >= LAMP_COUNT) return refuse('malformed message');
      session.show(body.pattern);
      return reply({});
    },
  };
}

function reply<B>(body: B): { kind: 'reply'; body: B } {
  return { kind: 'reply', body };
}

function refuse(error: FixtureErrorName): { kind: 'refused'; error: FixtureErrorName; detail: number } {
  return { kind: 'refused', error, detail: 0 };
}
