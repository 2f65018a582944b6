/** What the log knew of the shop's instruments on a day: it goes onto the record of a job, which so replays to the bit. */
import { checkState, type CheckPoint, type CheckState } from './daily-check';
import { heightMasterOf, isOverdue, masterEquipment, type Day, type Equipment } from './equipment';
import { NOMINAL_HEIGHT_MASTER, type HeightMaster } from './height-master';
import type { PlacementStudy } from './study/accept';

export interface FixtureKnown {
  readonly fixtureId: string;
  readonly master?: HeightMaster;
  /** Its newest daily check; left out: not under daily check in this log. */
  readonly check?: CheckState;
  /** The newest calibration in this log; left out: none here. */
  readonly calibration?: { readonly on: Day; readonly due: Day };
}

export interface GaugingKnown {
  readonly on: Day;
  /** For fixtures that are not named below. */
  readonly master?: HeightMaster;
  readonly placement?: PlacementStudy;
  readonly fixtures: readonly FixtureKnown[];
  /** References of any kind that are past their date; left out: none. */
  readonly overdue?: readonly Pick<Equipment, 'id' | 'kind' | 'due'>[];
}

/** The history of one fixture, as the log has it. */
export interface FixtureHistory {
  readonly fixtureId: string;
  /** Since its newest calibration. */
  readonly checks: readonly CheckPoint[];
  readonly calibration?: { readonly on: Day; readonly due: Day };
}

export function gaugingKnown(
  register: readonly Equipment[],
  histories: readonly FixtureHistory[],
  placement: PlacementStudy | undefined,
  on: Day,
): GaugingKnown {
  const any = register.findLast((e) => e.kind === 'height master' && e.fixtureId === undefined);
  const owners = register.flatMap((e) =>
    e.kind === 'height master' && e.fixtureId !== undefined ? [e.fixtureId] : [],
  );
  const overdue = register.filter((e) => isOverdue(e, on)).map(({ id, kind, due }) => ({ id, kind, due }));
  const ids = [...new Set([...histories.map((h) => h.fixtureId), ...owners])];
  return {
    on,
    ...(any === undefined ? {} : { master: heightMasterOf(any) }),
    ...(placement === undefined ? {} : { placement }),
    ...(overdue.length === 0 ? {} : { overdue }),
    fixtures: ids.map((fixtureId): FixtureKnown => {
      const master = masterEquipment(register, fixtureId);
      const history = histories.find((h) => h.fixtureId === fixtureId);
      const check = history === undefined ? undefined : checkState(history.checks, on);
      return {
        fixtureId,
        ...(master === undefined ? {} : { master: heightMasterOf(master) }),
        ...(check === undefined ? {} : { check }),
        ...(history?.calibration === undefined ? {} : { calibration: history.calibration }),
      };
    }),
  };
}

/** The height master that a fixture lives in, by what is known of the shop; the nominal one when nothing is. */
export function knownMaster(known: GaugingKnown | undefined, fixtureId: string): HeightMaster {
  return (
    known?.fixtures.find((f) => f.fixtureId === fixtureId)?.master ?? known?.master ?? NOMINAL_HEIGHT_MASTER
  );
}

/** Why results read with this fixture cannot be called a pass: one line each. */
export function fixtureDoubts(known: GaugingKnown | undefined, fixtureId: string): string[] {
  const found = known?.fixtures.find((f) => f.fixtureId === fixtureId);
  if (known === undefined || found === undefined) return [];
  const { check, calibration } = found;
  return [
    ...(check === undefined || check.state === 'in control'
      ? []
      : [`daily check of fixture ${fixtureId} ${check.state}: ${check.why}`]),
    ...(calibration === undefined || known.on <= calibration.due
      ? []
      : [`calibration of fixture ${fixtureId} was due on ${calibration.due}: calibrate it`]),
  ];
}
