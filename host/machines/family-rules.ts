/** What the family of a machine says about how its deck is carried, and whether its supports can carry it at all. */
import type { Family, MachineProfile } from './profile';

type Support = MachineProfile['hangers'][number];

interface Place {
  readonly xMm: number;
  readonly yMm: number;
}

/** Positions are taken with a tape: nothing closer than this counts as a difference. */
const TAPE_MM = 2;

/** Contradictions between the family and the rest of a profile, each a sentence that starts with its field. */
export function familyFaults(profile: MachineProfile): string[] {
  return [...RULES[profile.family](profile), ...loadFaults(profile), ...bladeFaults(profile)];
}

const RULES: Record<Family, (profile: MachineProfile) => string[]> = {
  'mid-mount hung': onlyHangs,
  'stand-on': onlyHangs,
  'front rod with rear lift arms': ({ hangers, adjusters }) => {
    const [foremost, ...others] = [...hangers].sort((a, b) => b.xMm - a.xMm);
    const faults = others
      .filter((h) => h.kind === 'stands')
      .map((h) => `hangers: '${h.name}' stands on the floor, but lift arms carry the rear of this family`);
    if (foremost !== undefined && foremost.kind !== 'holds')
      faults.push(`hangers: '${foremost.name}' is the foremost, and the front rod holds both ways`);
    const rodMoves = adjusters.flatMap((a) => a.moves.filter((m) => m.hanger === foremost?.name));
    if (rodMoves.some((m) => m.atHeights === undefined))
      faults.push("adjusters: the front rod's ratio depends on the height setting, so it needs atHeights");
    return faults;
  },
  'floating with gauge wheels': ({ hangers }) => atLeastTwoStand(hangers, 'gauge wheels'),
  'out-front': ({ hangers }) => {
    const faults = atLeastTwoStand(hangers, "the deck's own wheels");
    const arms = hangers.filter((h) => h.kind !== 'stands');
    const wheels = hangers.filter((h) => h.kind === 'stands');
    if (arms.length === 0) faults.push("hangers: none is one of the carrier's arms, which carry the rear");
    else if (Math.max(...arms.map((h) => h.xMm)) > Math.min(...wheels.map((h) => h.xMm)))
      faults.push("hangers: the carrier's arms reach the deck from behind its own wheels");
    return faults;
  },
  'walk-behind': ({ hangers, wheels }) =>
    hangers.flatMap((h) => {
      if (h.kind !== 'stands')
        return [`hangers: '${h.name}' does not stand, but the shell stands on its wheels`];
      return wheels.some((w) => Math.abs(w.xMm - h.xMm) <= TAPE_MM && Math.abs(w.yMm - h.yMm) <= TAPE_MM)
        ? []
        : [`hangers: '${h.name}' stands where wheels names no wheel`];
    }),
};

function onlyHangs({ family, hangers }: MachineProfile): string[] {
  return hangers
    .filter((h) => (h.kind ?? 'hangs') !== 'hangs')
    .map((h) => `hangers: '${h.name}' ${h.kind ?? ''}, but everything hangs in the family '${family}'`);
}

function atLeastTwoStand(hangers: readonly Support[], what: string): string[] {
  return hangers.filter((h) => h.kind === 'stands').length >= 2
    ? []
    : [`hangers: fewer than two stand, but ${what} carry this family`];
}

function loadFaults({ wheels }: MachineProfile): string[] {
  const shares = wheels.flatMap((w) => w.loadShare ?? []);
  if (shares.length === 0) return [];
  if (shares.length < wheels.length)
    return ['wheels: some carry a loadShare and some do not; all of them or none'];
  const sum = shares.reduce((a, b) => a + b, 0);
  return Math.abs(sum - 1) > 0.001 ? [`wheels: the load shares add up to ${sum.toFixed(3)}, not to 1`] : [];
}

function bladeFaults({ bladeKind, spindles }: MachineProfile): string[] {
  const stacked = spindles.some((s) => s.stackedOn !== undefined);
  if (bladeKind === 'stacked cross' && !stacked)
    return ["bladeKind: 'stacked cross' has two blades on a spindle, but none is stackedOn another"];
  return bladeKind !== 'stacked cross' && stacked
    ? [`bladeKind: '${bladeKind}', but a blade is stackedOn another`]
    : [];
}

/**
 * True when three supports, among them all that hold, balance the weight: those that only push have to push, those that
 * hold may pull as well.
 */
export function supportsCarry(weight: Place, supports: readonly Support[]): boolean {
  const holding = supports.filter((s) => s.kind === 'holds');
  for (const [i, a] of supports.entries()) {
    for (const [j, b] of supports.slice(i + 1).entries()) {
      for (const c of supports.slice(i + j + 2)) {
        const three = [a, b, c] as const;
        if (!holding.every((h) => three.includes(h))) continue;
        const shares = sharesOf(weight, three);
        if (shares !== undefined && three.every((s, k) => s.kind === 'holds' || (shares[k] ?? 0) > 0))
          return true;
      }
    }
  }
  return false;
}

/** Shares of a weight on three supports; undefined where they stand in one line. */
function sharesOf(weight: Place, [a, b, c]: readonly [Place, Place, Place]): number[] | undefined {
  const cross = (p: Place, q: Place, r: Place) =>
    (q.xMm - p.xMm) * (r.yMm - p.yMm) - (q.yMm - p.yMm) * (r.xMm - p.xMm);
  const whole = cross(a, b, c);
  if (Math.abs(whole) < 1) return undefined;
  return [cross(weight, b, c) / whole, cross(a, weight, c) / whole, cross(a, b, weight) / whole];
}
