/** Instruments as a log knows them: the register, sessions, and what a job is told of its fixtures. */
import { checkPoint, type CheckPoint } from '../gauging/daily-check';
import type { Day, Equipment } from '../gauging/equipment';
import type { GaugingEvent } from '../gauging/events';
import { gaugingKnown, type FixtureHistory, type GaugingKnown } from '../gauging/known';
import { sessionOf, type Session } from '../gauging/session';
import type { PlacementStudy } from '../gauging/study/accept';
import { isGaugingEvent } from '../ledger/event-types';
import type { Ledger, LedgerReader } from '../ledger/ledger';

/** Newest entry of each id, in the order of entry; what was withdrawn is not in it. */
export function registerInLog(ledger: LedgerReader): Equipment[] {
  let register: Equipment[] = [];
  for (const event of gaugingEvents(ledger)) {
    if (event.type === 'equipment registered')
      register = [...register.filter((e) => e.id !== event.equipment.id), event.equipment];
    else if (event.type === 'equipment withdrawn') register = register.filter((e) => e.id !== event.id);
  }
  return register;
}

export function sessionInLog(ledger: LedgerReader, session: number): Session | undefined {
  return sessionOf(gaugingEvents(ledger), session, capturesOf(ledger, session));
}

/** Sessions in the order opened. */
export function sessionsInLog(ledger: LedgerReader): Session[] {
  const events = gaugingEvents(ledger);
  return events.flatMap((event) => {
    if (event.type !== 'session opened') return [];
    const session = sessionOf(events, event.session, capturesOf(ledger, event.session));
    return session === undefined ? [] : [session];
  });
}

/** Calibrations that were written, in the order written. */
export function calibrationsInLog(
  ledger: LedgerReader,
): Extract<GaugingEvent, { type: 'calibration written' }>[] {
  return gaugingEvents(ledger).filter((e) => e.type === 'calibration written');
}

/** Each fixture with its finished checks since its newest calibration. */
export function historiesInLog(ledger: LedgerReader): FixtureHistory[] {
  const histories = new Map<string, FixtureHistory>();
  const events = gaugingEvents(ledger);
  for (const event of events) {
    if (event.type === 'calibration written') {
      const { fixtureId, on, due } = event.record;
      histories.set(fixtureId, { fixtureId, checks: [], calibration: { on, due } });
    } else if (event.type === 'session closed') {
      const session = sessionOf(events, event.session, capturesOf(ledger, event.session));
      const point = session?.opened.use === 'check' ? checkPoint(session) : undefined;
      if (session === undefined || point === undefined) continue;
      const { fixtureId } = session.opened.fixture;
      const known = histories.get(fixtureId) ?? { fixtureId, checks: [] as readonly CheckPoint[] };
      histories.set(fixtureId, { ...known, checks: [...known.checks, point] });
    }
  }
  return [...histories.values()];
}

/** The newest study that was accepted. */
export function placementInLog(ledger: LedgerReader): PlacementStudy | undefined {
  return gaugingEvents(ledger).findLast((e) => e.type === 'study accepted')?.width;
}

export function knownOfInstruments(ledger: LedgerReader, on: Day): GaugingKnown {
  return gaugingKnown(registerInLog(ledger), historiesInLog(ledger), placementInLog(ledger), on);
}

/** Writes down what is known of the instruments for a job that was just opened; nothing while the log knows nothing. */
export function noteInstruments(ledger: Ledger, job: number, on: Day): GaugingKnown {
  const known = knownOfInstruments(ledger, on);
  const { fixtures, master, placement, overdue } = known;
  const isEmpty = fixtures.length === 0 && [master, placement, overdue].every((part) => part === undefined);
  if (!isEmpty) ledger.append({ type: 'instruments known', job, known });
  return known;
}

function gaugingEvents(ledger: LedgerReader): GaugingEvent[] {
  return ledger.shopEvents().filter((e) => isGaugingEvent(e));
}

function capturesOf(ledger: LedgerReader, session: number) {
  return ledger
    .events(session)
    .flatMap(({ event }) =>
      event.type === 'captured' ? [{ fixtureId: event.fixtureId, capture: event.capture }] : [],
    );
}
