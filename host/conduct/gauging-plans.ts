/** What a session is opened with: the steps of a check, calibration or study on the fixture at hand, with what the log knows of the shop. */
import { numberedError } from '../errors/errors';
import { checkSteps } from '../gauging/daily-check';
import { asDrawn, isUncalibrated, type SensorVolts } from '../gauging/calibration/first';
import { calibrationSteps } from '../gauging/calibration/plan';
import { heightMasterOf, isOverdue, masterEquipment, referenceInForce, type Day } from '../gauging/equipment';
import { gaugingKnown, knownMaster } from '../gauging/known';
import { studySteps, type StudyPlan } from '../gauging/study/plan';
import type { LedgerReader } from '../ledger/ledger';
import type { Link } from '../link/link';
import { knownOfInstruments, registerInLog } from './gauging-in-log';
import { writeCalibrations } from './fixture-calibrations';
import type { Beginning, FixtureAtHand } from './gauging-session';

export interface SessionBy {
  readonly on: Day;
  readonly technician: string;
  readonly simulated: boolean;
}

/** The daily check on the fixture's height master. Throws 479, and 480 for a fixture that knows only its drawing. */
export function checkBegins(ledger: LedgerReader, by: SessionBy, at: FixtureAtHand): Beginning {
  const { fixtureId } = at.fixture;
  if (at.calibrations.some(isUncalibrated))
    throw numberedError(
      'calibration not good enough',
      `${fixtureId} was never calibrated: calibrate it first`,
    );
  const master = knownMaster(knownOfInstruments(ledger, by.on), fixtureId);
  const entry = masterEquipment(registerInLog(ledger), fixtureId);
  if (entry !== undefined && isOverdue(entry, by.on))
    throw numberedError('reference overdue', `height master ${entry.id} was due on ${entry.due}`);
  return {
    use: 'check',
    ...by,
    master,
    references: entry === undefined ? [] : [entry],
    steps: checkSteps(master, at.headPosition),
  };
}

export interface CalibrationWishes {
  /** For how many days it counts. */
  readonly days: number;
  /** Of the sensor at either end of its span, for a head position that holds no calibration yet. */
  readonly volts?: SensorVolts | undefined;
  /** Some heights are read again where it is warmer or colder. */
  readonly temperature?: boolean | undefined;
}

/**
 * A calibration with the references in force. A head position that holds none is given one by drawing and data sheet, so that it
 * can be read at all, and `say` gets that. Throws 479, 480, and 484 when the sensor's volts are not given for it.
 */
export async function calibrationBegins(
  ledger: LedgerReader,
  by: SessionBy,
  at: FixtureAtHand,
  link: Link,
  { days, volts, temperature }: CalibrationWishes,
  say: (text: string) => void,
): Promise<Beginning> {
  const register = registerInLog(ledger);
  const references = (['height master', 'gauge blocks'] as const).map((kind) =>
    referenceInForce(register, kind, by.on, at.fixture.fixtureId),
  );
  const master = heightMasterOf(references[0]);
  const missing = ([0, 1] as const).filter((head) => !at.calibrations.some((c) => c.headPosition === head));
  const names = missing.map((head) => (head === 0 ? 'low' : 'high')).join(' and ');
  let { calibrations } = at;
  if (missing.length > 0) {
    if (volts === undefined)
      throw numberedError('no first calibration', `${at.fixture.fixtureId}, ${names} head`);
    say(
      `First calibration: the ${names} head holds none. It begins from the drawing and the sensor's data sheet, which may be millimetres off; nothing counts with that until this calibration is written.`,
    );
    calibrations = await writeCalibrations(
      link,
      missing.map((head) => asDrawn(head, volts)),
    );
  }
  return {
    use: 'calibration',
    ...by,
    master,
    references,
    calibrations,
    steps: calibrationSteps(master, references[1].values, calibrations, temperature),
    days,
  };
}

/** A study of clampings in the order of its seed. Throws 473. */
export function studyBegins(
  ledger: LedgerReader,
  by: SessionBy,
  plan: StudyPlan,
  { fixture }: FixtureAtHand,
): Beginning {
  return {
    use: 'study',
    ...by,
    master: knownMaster(gaugingKnown(registerInLog(ledger), [], undefined, by.on), fixture.fixtureId),
    references: [],
    steps: studySteps(largeEnough(plan)),
    seed: plan.seed,
  };
}

/** Throws 473 for a study that could say nothing. */
export function largeEnough(plan: StudyPlan): StudyPlan {
  const few = [
    ...(plan.tips.length < 2 ? ['two tips'] : []),
    ...(plan.technicians.length < 1 ? ['one technician'] : []),
    ...(plan.repeats < 2 ? ['two repeats'] : []),
  ];
  if (few.length > 0) throw numberedError('study too small', `at least ${few.join(' and ')} are wanted`);
  return plan;
}
