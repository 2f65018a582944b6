/** The calibrations in a fixture: read, written, and brought to what the log decided when something failed in between. */
import type { Body } from '../../protocol/wire/messages';
import { numberedError, NumberedError } from '../errors/errors';
import type { CalibrationRecord } from '../gauging/calibration/record';
import { calibrate } from '../gauging/calibration/solve';
import type { Ledger, LedgerReader } from '../ledger/ledger';
import type { Link } from '../link/link';
import { calibrationsInLog, sessionsInLog } from './gauging-in-log';

type Calibration = Body<'calibration'>;

const NO_CALIBRATION = 109;

/** Those that the fixture holds; a head position without one is left out. */
export async function readCalibrations(link: Link): Promise<Calibration[]> {
  const calibrations: Calibration[] = [];
  for (const headPosition of [0, 1]) {
    try {
      calibrations.push(await link.request('read-calibration', { headPosition }));
    } catch (error) {
      if ((error as NumberedError).number !== NO_CALIBRATION) throw error;
    }
  }
  return calibrations;
}

/** Writes calibrations and reads them back; what the fixture then holds. Throws 481 when that is something else. */
export async function writeCalibrations(
  link: Link,
  calibrations: readonly Calibration[],
): Promise<Calibration[]> {
  for (const calibration of calibrations)
    await link.request<'write-calibration'>('write-calibration', calibration);
  const held = await readCalibrations(link);
  for (const wanted of calibrations)
    if (!holds(held, wanted))
      throw numberedError('calibration not stored', `head position ${wanted.headPosition}`);
  return held;
}

/** Writes the calibrations of a record and notes it. Throws 480 when the record may not be written, and 481. */
export async function writeRecord(
  ledger: Ledger,
  link: Link,
  session: number,
  record: CalibrationRecord,
): Promise<Calibration[]> {
  if (record.faults.length > 0) throw numberedError('calibration not good enough', record.faults.join('; '));
  const calibrations = await writeCalibrations(link, record.calibrations);
  ledger.appendOfShop({ type: 'calibration written', session, record, calibrations });
  return calibrations;
}

/**
 * Program, computer, cable or power can fail between the write to a fixture and the event that notes it. Looks for a
 * calibration that was decided and not noted, at the next start with the fixture: one that the fixture holds is noted now, one
 * that reached a single head is written whole, one that did not arrive is left to its session. A sentence for each.
 */
export async function settleCalibration(ledger: Ledger, link: Link): Promise<string[]> {
  const open = decidedLast(ledger, link.identity().fixtureId);
  if (open === undefined) return [];
  const { session, record } = open;
  const held = await readCalibrations(link);
  const arrived = record.calibrations.filter((wanted) => holds(held, wanted));
  if (arrived.length === 0)
    return [`calibration ${session} was not written; swathplane calibrate --resume ${session} writes it`];
  const isWhole = arrived.length === record.calibrations.length;
  const calibrations = isWhole ? held : await writeCalibrations(link, record.calibrations);
  ledger.appendOfShop({ type: 'calibration written', session, record, calibrations });
  return [
    isWhole
      ? `calibration ${session} had reached the fixture before the program ended; it is noted now`
      : `calibration ${session} had reached one head only; it is written whole and noted now`,
  ];
}

/** The newest finished calibration of a fixture when it could be written and the log does not say that it was. */
function decidedLast(
  ledger: LedgerReader,
  fixtureId: string,
): { readonly session: number; readonly record: CalibrationRecord } | undefined {
  const finished = sessionsInLog(ledger).findLast(
    ({ opened, closed }) => opened.use === 'calibration' && opened.fixture.fixtureId === fixtureId && closed,
  );
  if (finished === undefined) return undefined;
  const { session } = finished.opened;
  if (calibrationsInLog(ledger).some((c) => c.record.fixtureId === fixtureId && c.session >= session))
    return undefined;
  try {
    const record = calibrate(finished);
    return record.faults.length > 0 ? undefined : { session, record };
  } catch (error) {
    if (error instanceof NumberedError) return undefined;
    throw error;
  }
}

/** All fields but the version, which the fixture counts itself. */
function holds(held: readonly Calibration[], wanted: Calibration): boolean {
  const found = held.find((c) => c.headPosition === wanted.headPosition);
  return (
    found !== undefined &&
    (Object.keys(wanted) as (keyof Calibration)[]).every(
      (key) => key === 'version' || String(found[key]) === String(wanted[key]),
    )
  );
}
