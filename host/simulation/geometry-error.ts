import type { MachineProfile } from '../machines/profile';
import type { Random } from './random';

/**
 * The machine as it really is when its profile was taken with a tape: every coordinate and tip radius off by a normal error of
 * the profile's stated uncertainty. Wheels under the deck move with the machine's own wheel at the same place. A profile
 * without such an uncertainty is the truth already.
 */
export function trueGeometry(profile: MachineProfile, random: Random): MachineProfile {
  const tape = profile.uncertaintyMm;
  if (tape === undefined) return profile;
  const moved = <Place extends { readonly xMm: number; readonly yMm: number }>(
    place: Place,
    sdMm: number,
  ) => ({
    ...place,
    xMm: place.xMm + random.normal(sdMm),
    yMm: place.yMm + random.normal(sdMm),
  });
  const wheels = profile.wheels.map((wheel) => moved(wheel, tape.wheelMm));
  const spindles = profile.spindles.map((spindle) => ({
    ...moved(spindle, tape.spindleMm),
    tipRadiusMm: spindle.tipRadiusMm + random.normal(tape.tipRadiusMm),
  }));
  const hangers = profile.hangers.map((hanger) => {
    const wheel = profile.wheels.findIndex((w) => w.xMm === hanger.xMm && w.yMm === hanger.yMm);
    const at = moved(hanger, tape.hangerMm);
    return wheel < 0 ? at : { ...at, xMm: wheels[wheel].xMm, yMm: wheels[wheel].yMm };
  });
  return {
    ...profile,
    wheels,
    spindles: spindles.map((spindle) => {
      const lower = profile.spindles.findIndex((s) => s.name === spindle.stackedOn?.spindle);
      return lower < 0 ? spindle : { ...spindle, xMm: spindles[lower].xMm, yMm: spindles[lower].yMm };
    }),
    hangers,
  };
}
