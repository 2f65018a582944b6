import type { MachineProfile } from '../machines/profile';
import type { Population } from './population';
import type { Random } from './random';

/** The adjusters and hangers of one machine as they really are. Turns are positive in the raising sense. */
export interface Linkage {
  /** Height at which each hanger would hold the deck's cutting plane, above the chassis plane; in profile order. */
  heightsMm(): readonly number[];
  /** Turns a nut; returns the turns that it did before its travel ended. */
  turn(adjuster: string, turns: number): number;
  /** Turns a nut until a hanger has risen by this much, as one does who feels it; returns the turns. */
  raise(hanger: string, byMm: number): number;
  /** The deck is pressed down and released: hangers that stuck come to where their nuts hold them. */
  release(): void;
  /** Moves every hanger a little, as tightening lock nuts does. */
  shift(sdMm: number): void;
  /** True mm per turn at a hanger. */
  trueMmPerTurn(adjuster: string, hanger: string): number;
}

interface Nut {
  readonly name: string;
  readonly effects: readonly { readonly hanger: number; readonly mmPerTurn: number }[];
  readonly travelTurns: readonly [number, number];
  /** Where the nut is, from where it was found. */
  turns: number;
  /** Where the linkage behind the nut's play is: between `turns - play` and `turns`, plus where it started. */
  followed: number;
  readonly start: number;
}

/**
 * @param nominalMm height at which each hanger should hold the deck for every measure to be on target
 */
export function createLinkage(
  profile: MachineProfile,
  nominalMm: readonly number[],
  random: Random,
  population: Population,
): Linkage {
  const play = population.backlashTurns;
  const indexOf = (hanger: string) => {
    const index = profile.hangers.findIndex((h) => h.name === hanger);
    if (index < 0) throw new Error(`the machine has no hanger ${hanger}`);
    return index;
  };
  const offsets = nominalMm.map((mm) => mm + random.normal(population.hangerToleranceSdMm));
  const nuts = profile.adjusters.map((adjuster): Nut => {
    const ratio = 1 + random.normal(population.ratioSd);
    const effects = adjuster.moves.map((move) => ({
      hanger: indexOf(move.hanger),
      mmPerTurn: move.mmPerTurn * ratio,
    }));
    const strongest = Math.max(...effects.map((effect) => Math.abs(effect.mmPerTurn)));
    const misset = random.normal(population.hangerErrorSdMm) / strongest;
    for (const effect of effects) offsets[effect.hanger] += effect.mmPerTurn * misset;
    // Which way the nut was turned last is not known, so neither is the side on which its play lies.
    const start = random.chance(0.5) ? play : 0;
    return { name: adjuster.name, effects, travelTurns: adjuster.travelTurns, turns: 0, followed: 0, start };
  });
  const nutOf = (name: string) => {
    const nut = nuts.find((candidate) => candidate.name === name);
    if (nut === undefined) throw new Error(`the machine has no adjuster ${name}`);
    return nut;
  };
  const turn = (nut: Nut, turns: number) => {
    const [least, most] = nut.travelTurns;
    const from = nut.turns;
    nut.turns = Math.min(most, Math.max(least, from + turns));
    const at = nut.start + nut.turns;
    nut.followed = Math.min(at, Math.max(at - play, nut.followed));
    return nut.turns - from;
  };

  const heldMm = () => {
    const heights = [...offsets];
    for (const nut of nuts) {
      for (const effect of nut.effects) heights[effect.hanger] += effect.mmPerTurn * nut.followed;
    }
    return heights;
  };
  // Friction lets a hanger stay behind by so much, on the side that it comes from.
  let shown = heldMm();
  const follow = () => {
    const sticks = population.frictionMm;
    shown = heldMm().map((mm, i) => Math.min(mm + sticks, Math.max(mm - sticks, shown[i])));
  };

  return {
    heightsMm: () => [...shown],
    release: () => {
      shown = heldMm();
    },
    turn: (adjuster, turns) => {
      const made = turn(nutOf(adjuster), turns);
      follow();
      return made;
    },
    raise: (hanger, byMm) => {
      const index = indexOf(hanger);
      const effectOn = (nut: Nut) => nut.effects.find((effect) => effect.hanger === index)?.mmPerTurn ?? 0;
      const nut = nuts.reduce((best, other) =>
        Math.abs(effectOn(other)) > Math.abs(effectOn(best)) ? other : best,
      );
      if (effectOn(nut) === 0) throw new Error(`no adjuster moves hanger ${hanger}`);
      const needed = byMm / effectOn(nut);
      const target = nut.followed + needed;
      const nutAt = needed > 0 ? target + play : target;
      const made = turn(nut, nutAt - (nut.start + nut.turns));
      shown[index] += byMm;
      follow();
      return made;
    },
    shift: (sdMm) => {
      for (let i = 0; i < offsets.length; i++) offsets[i] += random.normal(sdMm);
      shown = heldMm();
    },
    trueMmPerTurn: (adjuster, hanger) => {
      const index = indexOf(hanger);
      return nutOf(adjuster).effects.find((effect) => effect.hanger === index)?.mmPerTurn ?? 0;
    },
  };
}
