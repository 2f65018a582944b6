/** What a result is judged from: the readings' own solution, as wide as they scatter, and with how far its widths are known. */
import {
  solveTips,
  widenedByMisfit,
  withDegreesOfFreedom,
  type MeasureQuestion,
  type Solution,
  type TipReading,
  type Widths,
} from '../../protocol/solver';

/** So much wider is the floor taken to see what it does. */
const WIDER = 1.1;

/** `plain` is the solution of these readings with these widths, whose unevenness of the floor is known that well. */
export function forResult(
  plain: Solution,
  readings: readonly TipReading[],
  widths: Widths,
  questions: readonly MeasureQuestion[],
  floorDegreesOfFreedom: number,
): Solution {
  const { floorMm, floorSlopeRad } = widths;
  const uneven: Widths = {
    ...widths,
    floorMm: WIDER * floorMm,
    ...(floorSlopeRad === undefined ? {} : { floorSlopeRad: WIDER * floorSlopeRad }),
  };
  const wider = solveTips(plain.layout, readings, uneven, questions);
  return widenedByMisfit(withDegreesOfFreedom(plain, wider, WIDER, floorDegreesOfFreedom));
}
