/** What hangers that were placed with a tape add to the uncertainty of what a turn does. */
import type { MachineProfile } from '../machines/profile';

type Adjuster = MachineProfile['adjusters'][number];

/**
 * Relative standard uncertainty of an adjuster's ratio. A hanger that moves alone tilts the deck by its rise over its
 * distance from the others; being elsewhere by d, it acts as if it had risen by d times that slope more or less, which is
 * d over the distance as a share of the rise. An adjuster of several hangers takes the worst of them.
 */
export function ratioUncertaintyOf(profile: MachineProfile, adjuster: Adjuster): number {
  const hangerMm = profile.uncertaintyMm?.hangerMm ?? 0;
  if (hangerMm === 0) return adjuster.ratioUncertainty;
  const shares = adjuster.moves.map(({ hanger }) => hangerMm / distanceFromOthersMm(profile, hanger));
  return Math.hypot(adjuster.ratioUncertainty, Math.max(...shares));
}

function distanceFromOthersMm({ hangers }: MachineProfile, name: string): number {
  const one = hangers.find((h) => h.name === name);
  const others = hangers.filter((h) => h !== one);
  if (one === undefined) throw new Error(`no hanger ${name}`);
  const mean = (key: 'xMm' | 'yMm') => others.reduce((sum, h) => sum + h[key], 0) / others.length;
  return Math.hypot(one.xMm - mean('xMm'), one.yMm - mean('yMm'));
}
