/** The steps of studies, calibrations and checks in words. */
import type { GaugingTarget } from '../gauging/events';
import type { FixtureKnown, GaugingKnown } from '../gauging/known';

/** What is to be done for a step; `before` is the step that was read last. */
export function gaugingStepText(target: GaugingTarget, before: GaugingTarget | undefined): string {
  if (target.kind === 'tip') {
    const same = before?.kind === 'tip' && before.technician === target.technician;
    const who = same ? target.technician : `${target.technician} takes over and`;
    return `${who} takes the fixture off and clamps it anew on: ${target.tip}`;
  }
  const was = before?.kind === 'edge' ? before : undefined;
  const parts = [
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

/** The same for all fixtures of the shop, when a job is opened. */
export function shopTrustLines(known: GaugingKnown): string[] {
  const { placement } = known;
  return [
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
