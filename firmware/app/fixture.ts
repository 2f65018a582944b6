/** The whole firmware on its ports. */
import { RESET_CAUSES } from '../../protocol/wire';
import type { Ports } from '../ports/ports';
import { SAMPLE_PERIOD_US } from '../sensing/observer';
import { createDialogue } from './dialogue';
import { createFaults } from './faults';
import { createHandlers } from './handlers';
import { PHASE, codesOf, errorNumber } from './numbers';
import { createOutbox } from './outbox';
import { createParts } from './parts';
import { createSelfTest } from './self-test';
import { createSession } from './session';
import { createUptime } from './uptime';

const RESET_CAUSE = codesOf(RESET_CAUSES);
/** After a halt longer than this, missed samples are skipped instead of made up for. */
const LATE_US_MAX = 5 * SAMPLE_PERIOD_US;

export interface RunningFixture {
  /**
   * Does what is due and returns for how many microseconds nothing will be, unless bytes arrive: the board may sleep so
   * long. A board's watchdog wants a step to end every 500 ms.
   */
  step(): number;
}

/** Starts the firmware: the laser is dark before anything else happens. */
export function createFixture(ports: Ports): RunningFixture {
  ports.pins.setLaser(false);
  const uptime = createUptime(ports.clock);
  const outbox = createOutbox(ports.stream);
  const faults = createFaults((name) => {
    outbox.send({
      name: 'error',
      sequence: 0,
      body: { code: errorNumber(name), aboutMessage: 0, detail: 0 },
    });
  });
  if (ports.supervisor.resetCause() === RESET_CAUSE.crash) faults.raise('crashed');

  const parts = createParts(ports.bus, faults);
  const session = createSession(ports, parts, faults, outbox, uptime);
  const selfTest = createSelfTest(parts, faults, session);

  let restartAsked = false;
  const handlers = createHandlers({
    ports,
    parts,
    faults,
    outbox,
    uptime,
    session,
    selfTest,
    restartToUpdate: () => {
      restartAsked = true;
    },
  });
  const dialogue = createDialogue(handlers, outbox, () => session.phase() !== PHASE.starting);

  function flush(): void {
    const keeping = parts.keeping();
    outbox.flush(keeping === undefined ? undefined : keeping.journal);
  }

  let nextSampleUs = uptime.us();

  return {
    step: () => {
      if (restartAsked) ports.supervisor.restart(true);
      uptime.advance();
      dialogue.take(ports.stream.read());
      // Answers do not wait for what a sample costs.
      flush();
      if (uptime.us() >= nextSampleUs) {
        nextSampleUs += SAMPLE_PERIOD_US;
        if (uptime.us() - nextSampleUs > LATE_US_MAX) nextSampleUs = uptime.us() + SAMPLE_PERIOD_US;
        session.tick();
        selfTest.tick();
        flush();
      }
      return Math.max(0, nextSampleUs - uptime.advance());
    },
  };
}
