/** The steps of studies, calibrations and checks in words. */
import type { Body } from '../../protocol/wire/messages';
import { isUncalibrated } from '../gauging/calibration/first';
import type { GaugingTarget } from '../gauging/events';
import type { FixtureKnown, GaugingKnown } from '../gauging/known';
import type { PlacementStudy } from '../gauging/study/accept';

/** What is to be done for a step; `before` is the step that was read last. */
export function gaugingStepText(target: GaugingTarget, before: GaugingTarget | undefined): string {
  if (target.kind === 'tip') {
    const same = before?.kind === 'tip' && before.technician === target.technician;
    const who = same ? target.technician : `${target.technician} takes over and`;
    return `${who} takes the fixture off and clamps it anew on: ${target.tip}`;
  }
  const was = before?.kind === 'edge' ? before : undefined;
  const parts = [
    ...((was?.elsewhere ?? false) === (target.elsewhere ?? false)
      ? []
      : [
          'bring fixture and height master to a place at least 5 degrees warmer or colder, set it level by its vial, and leave both there with the fixture plugged in until they have its temperature (an hour; escape leaves the session, --resume goes on)',
        ]),
    ...(was?.head === target.head ? [] : [`pin the head ${target.head === 0 ? 'low' : 'high'}`]),
    ...((was?.turnDeg ?? 0) === target.turnDeg
      ? []
      : [
          `turn the height master to ${target.turnDeg} degrees on its shelf${target.sameSeat === true ? ', the fixture on it as it is' : ''}`,
        ]),
    ...((was?.blockMm ?? 0) === target.blockMm
      ? []
      : [
          target.blockMm === 0
            ? 'take the gauge block away'
            : `lay the ${target.blockMm} mm gauge block on the plate under the spot, matt side up`,
        ]),
    ...(target.sameSeat === true
      ? []
      : [`set the fixture anew on the edge at ${target.edgeMm.toFixed(2)} mm`]),
  ];
  const text = parts.join('; ');
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What was accepted, and what it means for the jobs to come. */
export function acceptedStudyLines(width: PlacementStudy): string[] {
  return [
    `Accepted: ${width.source} of ${width.on}, ${width.technicians} technicians, ${width.tips} tips, ${width.repeats} clampings each.`,
    `Clampings of one technician differ by ${width.placementSdMm.toFixed(3)} mm (sd, ${width.degreesOfFreedom.toFixed(0)} degrees of freedom); jobs opened from now on count with ${width.placementMm.toFixed(3)} mm.`,
    `Technicians differ by ${width.technicianSdMm.toFixed(3)} mm (sd), which is added to the fixture's zero.`,
  ];
}

const DAY_MS = 86_400_000;

/** When the calibrations that a fixture holds were made, as it says itself. */
export function setOnLine(calibrations: readonly Body<'calibration'>[]): string {
  const days = calibrations.map((c) =>
    isUncalibrated(c) ? 'never' : new Date(c.setOnDay * DAY_MS).toISOString().slice(0, 10),
  );
  return days.length === 0
    ? 'holds no calibration'
    : `its calibration was set on ${[...new Set(days)].join(' and ')}`;
}

/** What stands behind a fixture's readings; empty when the log knew nothing of it. */
export function fixtureTrustLines(known: GaugingKnown | undefined, fixtureId: string): string[] {
  if (known === undefined) return [];
  const { master, check, calibration }: Partial<FixtureKnown> =
    known.fixtures.find((f) => f.fixtureId === fixtureId) ?? {};
  const name = (master ?? known.master)?.name;
  return [
    ...(name === undefined ? [] : [`height master ${name}`]),
    check === undefined ? 'not under daily check' : `daily check of ${check.on}: ${check.state}`,
    calibration === undefined
      ? 'no calibration in this log'
      : `calibrated on ${calibration.on}, due on ${calibration.due}`,
  ];
}

/** What else is past its date, as far as it may have been used on a machine. */
export function overdueLines(known: GaugingKnown | undefined): string[] {
  return (known?.overdue ?? []).map(
    ({ id, kind, due }) => `${kind} ${id} was due on ${due}: what is read with it is not traceable`,
  );
}

/** The same for all fixtures of the shop, when a job is opened. */
export function shopTrustLines(known: GaugingKnown): string[] {
  const { placement } = known;
  return [
    ...overdueLines(known).map((line) => `${line.charAt(0).toUpperCase()}${line.slice(1)}.`),
    ...known.fixtures.map(
      (f) => `Fixture ${f.fixtureId}: ${fixtureTrustLines(known, f.fixtureId).join('; ')}.`,
    ),
    ...(placement === undefined
      ? []
      : [
          `Clampings count with ${placement.placementMm.toFixed(2)} mm (${placement.source} of ${placement.on}).`,
        ]),
  ];
}
