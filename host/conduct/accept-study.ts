/** A study that jobs count with from then on. */
import { numberedError } from '../errors/errors';
import { placementStudy, type PlacementStudy } from '../gauging/study/accept';
import { studyReadings } from '../gauging/study/of-session';
import type { StudyReading } from '../gauging/study/readings';
import type { Ledger } from '../ledger/ledger';
import { sessionInLog } from './gauging-in-log';
import { today } from './today';

/** A study of this log. Throws 472, 473, 475 and 476. */
export function acceptSession(ledger: Ledger, number: number, by: string): PlacementStudy {
  const session = sessionInLog(ledger, number);
  if (session === undefined || session.opened.use !== 'study')
    throw numberedError('no such session', `no study ${number}`);
  if (!session.closed) throw numberedError('study not accepted', `study ${number} is not finished`);
  if (session.opened.simulated)
    throw numberedError('study not accepted', `study ${number} is of a simulated fixture`);
  const from = { session: number, source: `study ${number}`, on: session.opened.on };
  return accepted(ledger, placementStudy(studyReadings(session), from), by);
}

/** A study that was read from a file. Throws 472, 473 and 476. */
export function acceptReadings(
  ledger: Ledger,
  readings: readonly StudyReading[],
  source: string,
  by: string,
): PlacementStudy {
  return accepted(ledger, placementStudy(readings, { source, on: today() }), by);
}

function accepted(ledger: Ledger, width: PlacementStudy, by: string): PlacementStudy {
  ledger.appendOfShop({ type: 'study accepted', on: today(), by, width });
  return width;
}
