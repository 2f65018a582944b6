/** One adjuster to be turned, as a drawing needs it: where it is, which way, how many turns and flats, seen from where. */
import type { MachineProfile } from '../machines/profile';
import { placesOf, type Place } from './deck-plan';
import type { TurningView } from './turning-view';
import { opposite, turnsText, turnText } from './words';

type Adjuster = MachineProfile['adjusters'][number];

export interface TurnPicture {
  readonly adjuster: string;
  readonly places: readonly Place[];
  readonly way: 'raise' | 'lower';
  /** Always positive; left out while the adjuster's ratio is not known. */
  readonly mm?: number;
  readonly amount: string;
  readonly wholeTurns: number;
  /** Steps beyond the whole turns; `stepsInATurn` is 6 where a step is a flat, undefined where steps do not divide a turn. */
  readonly restSteps: number;
  readonly stepsInATurn?: number;
  /** As it is to be turned, seen from `seenFrom`. */
  readonly rotation: 'clockwise' | 'counter-clockwise';
  readonly seenFrom: Adjuster['raises']['seenFrom'];
  /** "rear left: raise 3.2 mm = 2 turns and 3 flats, clockwise seen from below" */
  readonly sentence: string;
}

/** `turns` positive raises; `raiseMm` NaN for a trial turn. */
export function turnPicture(
  profile: MachineProfile,
  adjuster: Adjuster,
  turns: number,
  raiseMm: number,
): TurnPicture {
  const { raises, stepTurns, moves, name } = adjuster;
  const steps = Math.round(Math.abs(turns) / stepTurns);
  const inATurn = Math.round(1 / stepTurns);
  const divides = Math.abs(inATurn * stepTurns - 1) <= 1e-6;
  const wholeTurns = divides ? Math.floor(steps / inATurn) : 0;
  return {
    adjuster: name,
    places: placesOf(profile, moves),
    // What is said first is what happens to the deck, not to the nut.
    way: (Number.isNaN(raiseMm) ? turns : raiseMm) >= 0 ? 'raise' : 'lower',
    ...(Number.isNaN(raiseMm) ? {} : { mm: Math.abs(raiseMm) }),
    amount: turnsText(Math.abs(turns), stepTurns),
    wholeTurns,
    restSteps: divides ? steps - wholeTurns * inATurn : steps,
    ...(divides ? { stepsInATurn: inATurn } : {}),
    rotation: turns >= 0 ? raises.rotation : opposite(raises.rotation),
    seenFrom: raises.seenFrom,
    sentence: turnText(adjuster, turns, raiseMm),
  };
}

/** Everything that is to be turned at one stage, in the order of turning. */
export function turnPictures(profile: MachineProfile, { asked }: TurningView): TurnPicture[] {
  return asked.flatMap(({ adjuster, turns, raiseMm }) => {
    const found = profile.adjusters.find((a) => a.name === adjuster);
    return found === undefined ? [] : [turnPicture(profile, found, turns, raiseMm)];
  });
}
