/** What a session is opened with: the steps of a check or study on the fixture at hand, with what the log knows of the shop. */
import { numberedError } from '../errors/errors';
import { checkSteps } from '../gauging/daily-check';
import { isOverdue, masterEquipment, type Day } from '../gauging/equipment';
import type { SessionOpened } from '../gauging/events';
import { gaugingKnown, knownMaster } from '../gauging/known';
import { studySteps, type StudyPlan } from '../gauging/study/plan';
import type { LedgerReader } from '../ledger/ledger';
import { knownOfInstruments, registerInLog } from './gauging-in-log';
import type { FixtureAtHand } from './gauging-session';

export type Beginning = Omit<SessionOpened, 'type' | 'session' | 'fixture' | 'calibrations'>;

export interface SessionBy {
  readonly on: Day;
  readonly technician: string;
  readonly simulated: boolean;
}

/** The daily check on the fixture's height master. Throws 479. */
export function checkBegins(ledger: LedgerReader, by: SessionBy, at: FixtureAtHand): Beginning {
  const { fixtureId } = at.fixture;
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
