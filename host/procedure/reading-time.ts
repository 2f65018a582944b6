/** How long readings that were taken should have taken: the cost model, not a clock. */
import { READING_COSTS, type ReadingCosts } from '../../protocol/solver';
import type { JobState, Reading } from './state';

/**
 * Seconds for readings of tips in their order: a clamping or a turn of the blade, and the capture; for every seating after
 * the first what raising and lowering the deck costs more than a clamping. Readings set aside took their time too.
 */
export function modelledSeconds(
  readings: readonly Pick<Reading, 'target'>[],
  costs: ReadingCosts = READING_COSTS,
): number {
  let seconds = 0;
  let before: Extract<Reading['target'], { kind: 'tip' }> | undefined;
  for (const { target } of readings) {
    if (target.kind !== 'tip') continue;
    if (before?.placement !== target.placement) seconds += costs.clampS;
    else if (before.headingDeg !== target.headingDeg) seconds += costs.turnS;
    if (before !== undefined && before.seating !== target.seating)
      seconds += costs.raiseClampS - costs.clampS;
    seconds += costs.captureS;
    before = target;
  }
  return seconds;
}

/** What a shop says that its readings take; assumed where it does not say. */
export function costsOf({ readingCosts }: Pick<JobState, 'readingCosts'>): ReadingCosts {
  return readingCosts ?? READING_COSTS;
}
