/** Calibrating a fixture on its height master, showing what was found, and printing the record. */
import { conductGauging } from '../conduct/gauging-session';
import { writeRecord } from '../conduct/fixture-calibrations';
import { calibrationsInLog, sessionInLog } from '../conduct/gauging-in-log';
import { calibrationBegins, type CalibrationWishes } from '../conduct/gauging-plans';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import type { CalibrationRecord } from '../gauging/calibration/record';
import { calibrate } from '../gauging/calibration/solve';
import { calibrationPdf } from '../report/calibration-record';
import { tableText } from '../terminal/table-text';
import { calibrationView } from '../views/calibration-view';
import { withFixture, type SessionOptions } from './gauging-set-up';
import { jobNumber } from './job-number';
import { print, printJson, writeOut } from './output';
import { reading } from './with-log';

export interface CalibrateOptions extends SessionOptions, CalibrationWishes {
  readonly to?: string;
}

/** Exit code 1 when the calibration was refused. Errors: 475, 479 to 484 and those of link and log. */
export function calibrateFixture(options: CalibrateOptions): Promise<number> {
  return withFixture(options, (gauging, say) =>
    conductGauging(
      gauging,
      options.resume ??
        ((at, link) =>
          calibrationBegins(
            gauging.ledger,
            { on: today(), technician: options.technician, simulated: options.simulated !== undefined },
            at,
            link,
            options,
            say,
          )),
      async (session, link) => {
        const number = session.opened.session;
        const record = calibrate(session);
        const calibrations = await writeRecord(gauging.ledger, link, number, record);
        const file = options.to ?? `records/calibration-${number}.pdf`;
        writeOut(file, await calibrationPdf(calibrationView(number, record)));
        if (options.json === true) printJson({ session: number, record, calibrations, file });
        else {
          for (const line of recordText(number, record)) say(line);
          say(`Written to fixture ${record.fixtureId}, due on ${record.due}. Record: ${file}`);
        }
        return 0;
      },
    ),
  );
}

/** Every calibration of the log, newest last. */
export function listCalibrations(options: {
  readonly log: string;
  readonly json?: boolean;
}): Promise<number> {
  const all = reading(options, calibrationsInLog);
  if (options.json === true) printJson(all);
  else if (all.length === 0) print('no calibration in this log');
  else
    print(
      ...tableText({
        title: 'Calibrations',
        head: ['session', 'fixture', 'on', 'due', 'by', 'U (k = 2) up to', 'left up to'],
        rows: all.map(({ session, record: r }) => [
          `${session}`,
          r.fixtureId + (r.simulated ? ' (simulated)' : ''),
          r.on,
          r.due,
          r.by || '-',
          `${r.worstExpandedMm.toFixed(3)} mm`,
          `${r.worstLeftMm.toFixed(3)} mm`,
        ]),
      }),
    );
  return Promise.resolve(0);
}

/** The record of a calibration again, or what stands against one that was refused. Errors: 475, 480. */
export async function printCalibration(
  text: string,
  options: { readonly log: string; readonly to?: string; readonly json?: boolean },
): Promise<number> {
  const number = jobNumber(text);
  const record = reading(options, (ledger): CalibrationRecord => {
    const written = calibrationsInLog(ledger).find((c) => c.session === number)?.record;
    const session = sessionInLog(ledger, number);
    if (written !== undefined) return written;
    if (session?.opened.use !== 'calibration')
      throw numberedError('no such session', `no calibration ${number}`);
    return calibrate(session);
  });
  if (record.faults.length === 0) {
    const file = options.to ?? `records/calibration-${number}.pdf`;
    writeOut(file, await calibrationPdf(calibrationView(number, record)));
    if (options.json === true) printJson({ record, file });
    else print(...recordText(number, record), `Record: ${file}`);
    return 0;
  }
  if (options.json === true) printJson({ record });
  else print(...recordText(number, record), ...record.faults.map((f) => `NOT WRITTEN: ${f}`));
  return 1;
}

function recordText(number: number, record: CalibrationRecord): string[] {
  const view = calibrationView(number, record);
  return [...view.facts, '', ...view.tables.flatMap((t) => [...tableText(t), ''])];
}
