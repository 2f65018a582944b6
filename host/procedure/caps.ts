/** What keeps a pass from being called one: open items, an unfit floor, fixtures that do not read true or are not accounted for. */
import { fixtureCaps } from './fixtures';
import { floorCaps } from './floor-task';
import { itemsOf, standsAgainst } from './preparation';
import type { JobState } from './state';

/** One line each, as the sheet shows it; empty when nothing stands against a pass. */
export function capsOf(state: JobState): string[] {
  return [
    ...givenUp(state),
    ...itemCaps(state),
    ...casterCaps(state),
    ...floorCaps(state),
    ...fixtureCaps(state),
  ];
}

function givenUp({ givenUp: reason }: JobState): string[] {
  return reason === undefined ? [] : [`given up: ${reason}`];
}

/** Casters that want a thicker shim than this do not carry alike: shop limit, no source. */
const CASTER_SHIM_MM = 3;

function casterCaps({ casterShimMm }: JobState): string[] {
  return casterShimMm === undefined || Math.abs(casterShimMm) <= CASTER_SHIM_MM
    ? []
    : [
        `the casters carry unequally: ${Math.abs(casterShimMm).toFixed(1)} mm under the ${casterShimMm > 0 ? 'left' : 'right'} one would even them, shop limit ${CASTER_SHIM_MM} mm`,
      ];
}

function itemCaps(state: JobState): string[] {
  return itemsOf(state).flatMap((item) => {
    const answer = state.prepared[item.id];
    return answer !== undefined && standsAgainst(item, answer) ? [`not in order: ${item.text}`] : [];
  });
}
