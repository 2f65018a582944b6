/** A shop as the solver assumes it where it is not told: floor and pointing drawn from the assumed widths as they are now. */
import { ASSUMED_WIDTHS, FLOOR_SLOPE } from '../../host/gauging/widths';
import type { Population } from '../../host/simulation/population';
import type { Random } from '../../host/simulation/random';

export function assumedShop(random: Random): Partial<Population> {
  return {
    floorSdMm: ASSUMED_WIDTHS.floorMm.value,
    floorCorrelationMm: ASSUMED_WIDTHS.floorLengthMm.value,
    floorSlopeSd: FLOOR_SLOPE.value,
    headingSdDeg: ASSUMED_WIDTHS.headingDeg.value,
    headingBiasDeg: random.normal(ASSUMED_WIDTHS.headingHabitDeg.value),
  };
}
