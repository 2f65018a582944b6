/** The widths that a job's readings are solved with: assumed ones, an accepted study, a straightedge, target plates. */
import type { Widths } from '../../protocol/solver';
import { floorWidth, STRAIGHTEDGE_ITEM, type FloorWidth } from '../bay/straightedge';
import { onPlate } from '../bay/target-plate';
import { afterStudy, widthValues } from '../gauging/widths';
import type { JobState } from './state';

/** `heightReferenceMm`: where gain counts from. */
export function jobWidths(
  state: Partial<Pick<JobState, 'instruments' | 'plate' | 'prepared'>>,
  heightReferenceMm: number,
): Widths {
  const { instruments, plate } = state;
  const { floorMm } = floorWidthOf(state);
  const widths = { ...widthValues(heightReferenceMm), floorMm };
  return onPlate(afterStudy(widths, instruments?.placement), plate);
}

/** How uneven the floor is that nobody surveyed, and how well that is known. */
export function floorWidthOf({ prepared = {} }: Partial<Pick<JobState, 'prepared'>>): FloorWidth {
  const range = prepared[STRAIGHTEDGE_ITEM.id];
  return floorWidth(typeof range === 'number' ? range : undefined);
}
