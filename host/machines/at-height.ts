/** A machine at another height setting: where the deck is cut to, and what one turn of each adjuster does there. */
import { numberedError } from '../errors/errors';
import type { MachineProfile } from './profile';

interface RatioAtHeight {
  readonly cutHeightMm: number;
  readonly mmPerTurn: number;
}

/**
 * The profile with its height lever at `cutHeightMm`: measures of a height move along, ratios follow their tables. The
 * same profile when that is its own cut height. Throws 303 when a ratio is not known at this height.
 */
export function profileAtHeight(profile: MachineProfile, cutHeightMm: number): MachineProfile {
  const byMm = cutHeightMm - profile.cutHeightMm;
  if (byMm === 0) return profile;
  return {
    ...profile,
    cutHeightMm,
    measures: profile.measures.map((measure) =>
      measure.what === 'tips' && measure.spanMm === 0
        ? {
            ...measure,
            targetMm: measure.targetMm + byMm,
            lowerMm: measure.lowerMm + byMm,
            upperMm: measure.upperMm + byMm,
          }
        : measure,
    ),
    adjusters: profile.adjusters.map((adjuster) => ({
      ...adjuster,
      moves: adjuster.moves.map((move) => {
        if (move.atHeights === undefined) return move;
        const mmPerTurn = ratioAtHeight(move.atHeights, cutHeightMm);
        if (mmPerTurn === undefined)
          throw numberedError(
            'profile contradictory',
            `${profile.model}: atHeights of adjuster '${adjuster.name}' does not reach ${cutHeightMm} mm`,
          );
        return { ...move, mmPerTurn };
      }),
    })),
  };
}

/** Straight lines between the settings of a table; undefined outside it. */
export function ratioAtHeight(table: readonly RatioAtHeight[], cutHeightMm: number): number | undefined {
  const sorted = [...table].sort((a, b) => a.cutHeightMm - b.cutHeightMm);
  for (const [i, low] of sorted.entries()) {
    const high = sorted[i + 1];
    if (low.cutHeightMm === cutHeightMm) return low.mmPerTurn;
    if (high === undefined || cutHeightMm < low.cutHeightMm || cutHeightMm > high.cutHeightMm) continue;
    const share = (cutHeightMm - low.cutHeightMm) / (high.cutHeightMm - low.cutHeightMm);
    return low.mmPerTurn + share * (high.mmPerTurn - low.mmPerTurn);
  }
  return undefined;
}
