/** Whether a decision rests on widths that were assumed: it is taken again with them doubled, together and one at a time. */
import type { Judgement, Widths } from '../../protocol/solver';
import { STRAIGHTEDGE_ITEM } from '../bay/straightedge';
import { ASSUMED_WIDTHS, type WidthName } from '../gauging/widths';
import type { JobState } from './state';

export interface AssumedValues {
  /** The decision with every assumed width doubled. */
  readonly doubled: Judgement['decision'];
  /** Widths whose doubling alone changes the decision; none when only all together do, or when nothing does. */
  readonly decisive: readonly WidthName[];
}

/** Widths that no study, certificate, survey, straightedge or target plate has replaced. How far the floor is alike is a length, not a width. */
export function assumedWidths({
  plate,
  instruments,
  prepared = {},
}: Partial<Pick<JobState, 'plate' | 'instruments' | 'prepared'>> = {}): WidthName[] {
  const names = Object.keys(ASSUMED_WIDTHS) as WidthName[];
  return names.filter(
    (name) =>
      name !== 'floorLengthMm' &&
      !(name === 'textureMm' && plate !== undefined) &&
      !(name === 'floorMm' && typeof prepared[STRAIGHTEDGE_ITEM.id] === 'number') &&
      !(name === 'placementMm' && instruments?.placement !== undefined) &&
      ASSUMED_WIDTHS[name].source === 'assumed',
  );
}

/** `names` are the assumed ones of `widths`; `decide` solves and judges with others. */
export function assumedValues(
  widths: Widths,
  names: readonly WidthName[],
  decide: (widths: Widths) => Judgement,
): AssumedValues {
  const { decision } = decide(widths);
  const twice = (some: readonly WidthName[]): Widths => ({
    ...widths,
    ...Object.fromEntries(some.map((name) => [name, 2 * (widths[name] ?? 0)])),
  });
  const doubled = decide(twice(names)).decision;
  const decisive =
    doubled === decision ? [] : names.filter((name) => decide(twice([name])).decision !== decision);
  return { doubled, decisive };
}
