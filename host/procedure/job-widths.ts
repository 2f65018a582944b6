/** The widths that a job's readings are solved with: assumed ones, an accepted study in their place, target plates. */
import type { Widths } from '../../protocol/solver';
import { onPlate } from '../bay/target-plate';
import { afterStudy, widthValues } from '../gauging/widths';
import type { JobState } from './state';

/** `heightReferenceMm`: where gain counts from. */
export function jobWidths(
  { instruments, plate }: Pick<JobState, 'instruments' | 'plate'>,
  heightReferenceMm: number,
): Widths {
  return onPlate(afterStudy(widthValues(heightReferenceMm), instruments?.placement), plate);
}
