/** The self test: looks at each part, then drives the laser and watches the reading. It takes about 150 ms. */
import { SELF_TESTS } from '../../protocol/wire';
import type { Body } from '../../protocol/wire';
import type { Faults } from './faults';
import { memoryKeepsPattern } from './keeping';
import { bitsOf } from './numbers';
import type { Parts } from './parts';
import type { Session } from './session';

const BIT = bitsOf(SELF_TESTS);
const DARK_TICKS = 12;
const LIT_TICKS = 24;
/** Far more than noise, far less than any distance in range makes. */
const EFFECT_COUNTS = 300;
const GRAVITY_OFF_UG_MAX = 100000;

export interface SelfTest {
  /** Starts it; `done` is called with the report at the end. */
  start(done: (report: Body<'self-test-report'>) => void): void;
  running(): boolean;
  /** To be called once a sample period. */
  tick(): void;
}

export function createSelfTest(parts: Parts, faults: Faults, session: Session): SelfTest {
  let done: ((report: Body<'self-test-report'>) => void) | undefined = undefined;
  let ticks = 0;
  let darkCounts: number | undefined = undefined;
  let lit = false;

  function report(counts: number | undefined): Body<'self-test-report'> {
    const keeping = parts.keeping();
    const gravity = Math.floor(session.observer.forceUg() + 0.5);
    const partsWork = faults.disabling() === undefined;
    const converterWorks = partsWork && counts !== undefined;
    const laserTested = converterWorks && lit && darkCounts !== undefined;
    let tested = 0;
    let failed = 0;
    function result(bit: number, passed: boolean): void {
      tested += bit;
      if (!passed) failed += bit;
    }
    result(BIT.converter, converterWorks);
    result(
      BIT['motion part'],
      !faults.stands('motion part missing') &&
        !faults.stands('bus stuck') &&
        Math.abs(gravity - 1000000) < GRAVITY_OFF_UG_MAX,
    );
    result(BIT.memory, keeping !== undefined && memoryKeepsPattern(parts.memory));
    if (laserTested) {
      const effect = Math.abs(counts - (darkCounts as number));
      result(BIT.laser, effect > EFFECT_COUNTS);
    }
    result(
      BIT.calibration,
      keeping !== undefined && keeping.calibration(0) !== undefined && keeping.calibration(1) !== undefined,
    );
    return { tested, failed, counts: counts === undefined ? 0 : counts, gravity };
  }

  return {
    start: (whenDone) => {
      parts.check();
      session.testLaser(false);
      ticks = 0;
      darkCounts = undefined;
      done = whenDone;
    },
    running: () => done !== undefined,
    tick: () => {
      if (done === undefined) return;
      ticks += 1;
      if (ticks === DARK_TICKS) {
        darkCounts = parts.readCounts();
        lit = faults.disabling() === undefined && session.testLaser(true);
      } else if (ticks >= DARK_TICKS + LIT_TICKS) {
        lit = lit && session.laserOn();
        const finished = report(parts.readCounts());
        session.testLaser(false);
        const tell = done;
        done = undefined;
        tell(finished);
      }
    },
  };
}
