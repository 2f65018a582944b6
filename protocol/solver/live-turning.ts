/**
 * Turning an adjuster while the fixture on a blade tip shows the height: which tip to watch, how far it has to move by this
 * adjuster alone, and what a live height says. Only geometry and statics decide where to stop; how much one turn does,
 * which is often not known, only says about how far it is.
 */
import type { Layout } from './layout';
import { cosSinDeg, toFloat, zeros } from './number';
import { restDeck } from './statics';
import { carriersOf, type Carriers } from './turning-trials';
import { hangerRises, type Hanging } from './turning';

/** A blade tip that the fixture can be clamped on, where it can be pointed. */
export interface WatchedTip {
  readonly spindle: number;
  readonly headingDeg: number;
}

export type LiveStep =
  /** Lower this far, so that the hanger hangs free and the deck rests on three only. */
  | { readonly what: 'clear'; readonly adjuster: number; readonly turns: number }
  /** Turn until the watched tip has moved by `changeMm`. */
  | {
      readonly what: 'watch';
      readonly adjuster: number;
      /** About, by the ratio as far as it is known; positive in the raising sense. */
      readonly turns: number;
      readonly tip: WatchedTip;
      readonly changeMm: number;
      /** Of the tip, by the same ratio. */
      readonly mmPerTurn: number;
    }
  /** Raise until the hanger just carries. */
  | { readonly what: 'feel'; readonly adjuster: number; readonly turns: number };

export type LiveState = 'turn on' | 'stop' | 'past it' | 'wrong way' | 'nothing moves';

export interface LiveAnswer {
  readonly state: LiveState;
  /** What the tip still has to move; positive is up. */
  readonly leftMm: number;
  /** About how many turns that is, positive in the raising sense. */
  readonly leftTurns: number;
}

/** Near enough: a good deal less than one clamping of the fixture differs from the next. */
const NEAR_ENOUGH_MM = 0.15;
/** A hanger or a tip that is to move by less than this is left as it is: the screen would say stop from the beginning. */
const WORTH_TURNING_MM = 0.2;
/** A hanger out of the way hangs free by this much; what it has to be lowered for it is taken so much larger, ratios being unsure. */
const CLEAR_MM = 3;
const CLEAR_SHARE = 1.3;
/** A tip that moves by less than this share of its hanger does not show it. */
const VISIBLE_SHARE = 0.3;
/** A quarter turn shows the way; half a turn shows whether anything moves. */
const QUARTER_TURN = 0.25;
const HALF_TURN = 0.5;
/** Less than this share of what the turns should have done is no movement. */
const HARDLY = 0.2;

/**
 * The steps of a round of live turning. `turns` are the turns of the continuous answer (`whatToTurn`), whose products with
 * the ratios are the rises wanted of the hangers. A deck on more than three hangers does not follow each of them, so all
 * but three that carry it well are first lowered out of the way and at the end set by feel; then every turn of the three
 * is seen at the tips. Where that cannot be had (pairs, cranks, no travel left) the adjusters are watched as they are.
 * Undefined when the deck would tip.
 */
export function liveSteps(
  layout: Layout,
  hanging: Hanging,
  turns: readonly number[],
  tips: readonly WatchedTip[],
): LiveStep[] | undefined {
  const all = carriersOf(hanging.hangers, hanging.centreOfGravity, []);
  if (all.length === 0) return undefined;
  const carriers = bestCarriers(hanging, turns, all);
  const made = zeros(turns.length);
  const steps: LiveStep[] = [];
  const free: number[] = [];
  const lower = (adjuster: number, down: number) => {
    made[adjuster] = 0 - down;
    free.push(adjuster);
    steps.push({ what: 'clear', adjuster, turns: 0 - down });
  };
  if (carriers !== undefined) {
    for (const { adjuster, down } of outOfTheWay(hanging, turns, carriers)) lower(adjuster, down);
  }
  // What lifts the deck off the free hangers comes first: then it never comes lower there than where it ends.
  const lifts = liftOffFree(hanging, turns, carriers);
  for (const first of [true, false]) {
    for (let j = 0; j < turns.length; j++) {
      if (made[j] === 0 && turns[j] !== 0 && lifts[j] === first) {
        const before = restOf(hanging, made);
        made[j] = toFloat(turns[j]);
        const after = restOf(hanging, made);
        if (before === undefined || after === undefined) return undefined;
        const step = watchedStep(layout, tips, j, turns[j], before, after);
        const shows = step !== undefined && isVisible(hanging, step);
        if (turns[j] < 0 && !shows && canBeSetByFeel(hanging, turns, j)) {
          // The deck rests on others and does not follow: this hanger is one to be set by feel.
          const further = turns[j] - CLEAR_MM / Math.abs(hanging.adjusters[j].moves[0].mmPerTurn);
          lower(j, 0 - Math.max(hanging.adjusters[j].travelTurns[0], further));
        } else if (step !== undefined) steps.push(step);
        else made[j] = toFloat(0);
      }
    }
  }
  for (const j of free) steps.push({ what: 'feel', adjuster: j, turns: turns[j] - made[j] });
  return steps;
}

/**
 * What a live height says. Heights are of the watched tip with the fixture clamped once: at the start of this adjuster and
 * now. `turnsMade` since then, in the raising sense, where somebody counts; left out: a movement the wrong way shows
 * from the height alone, no movement does not.
 */
export function liveState(step: Watched, startMm: number, liveMm: number, turnsMade?: number): LiveAnswer {
  const moved = toFloat(liveMm) - startMm;
  const leftMm = step.changeMm - moved;
  const way = step.changeMm < 0 ? -1 : 1;
  const made = turnsMade ?? toFloat(0);
  // The ratio that shows is better than the one that was said, once enough has been turned to show it.
  const shows = Math.abs(made) >= HALF_TURN && moved * made * step.mmPerTurn > 0;
  const mmPerTurn = shows && Math.abs(moved) > 2 * NEAR_ENOUGH_MM ? moved / made : step.mmPerTurn;
  const leftTurns = leftMm / mmPerTurn;
  const quarterMm = QUARTER_TURN * Math.abs(step.mmPerTurn);
  let state: LiveState = 'turn on';
  if (Math.abs(leftMm) <= NEAR_ENOUGH_MM) state = 'stop';
  else if (leftMm * way < 0) state = 'past it';
  else if (0 - moved * way > (Math.abs(made) >= QUARTER_TURN ? NEAR_ENOUGH_MM : quarterMm))
    state = 'wrong way';
  else if (
    Math.abs(made) >= HALF_TURN &&
    Math.abs(moved) < HARDLY * Math.abs(made) * Math.abs(step.mmPerTurn)
  ) {
    state = 'nothing moves';
  }
  return { state, leftMm, leftTurns };
}

type Watched = Extract<LiveStep, { what: 'watch' }>;

interface Plane {
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

function restOf(hanging: Hanging, turns: readonly number[]): Plane | undefined {
  return restDeck(hanging.hangers, hangerRises(hanging, turns), hanging.centreOfGravity);
}

/** The tip that moves most; undefined when this adjuster's turn is not worth making. */
function watchedStep(
  layout: Layout,
  tips: readonly WatchedTip[],
  adjuster: number,
  turns: number,
  before: Plane,
  after: Plane,
): Watched | undefined {
  let watched: WatchedTip | undefined;
  let changeMm = toFloat(0);
  for (const tip of tips) {
    const { xMm, yMm, tipRadiusMm } = layout.spindles[tip.spindle];
    const { cos, sin } = cosSinDeg(tip.headingDeg);
    const change =
      after.z0Mm -
      before.z0Mm +
      (after.slopeX - before.slopeX) * (xMm + tipRadiusMm * cos) +
      (after.slopeY - before.slopeY) * (yMm + tipRadiusMm * sin);
    if (watched === undefined || Math.abs(change) > Math.abs(changeMm)) {
      watched = tip;
      changeMm = change;
    }
  }
  if (watched === undefined || Math.abs(changeMm) < WORTH_TURNING_MM) return undefined;
  return { what: 'watch', adjuster, turns, tip: watched, changeMm, mmPerTurn: changeMm / turns };
}

/** The three that carry with the best balance, among those whose others can be lowered; undefined when there are none. */
function bestCarriers(
  hanging: Hanging,
  turns: readonly number[],
  all: readonly Carriers[],
): Carriers | undefined {
  let best: Carriers | undefined;
  let bestShare = -Infinity;
  for (const carriers of all) {
    const least = Math.min(carriers.shares[0], Math.min(carriers.shares[1], carriers.shares[2]));
    if (least > bestShare && canBeCleared(hanging, turns, carriers)) {
      best = carriers;
      bestShare = least;
    }
  }
  return best;
}

/** Whether the tip follows the hanger: where it hardly does, the deck rests on others. */
function isVisible(hanging: Hanging, step: Watched): boolean {
  const rise = step.turns * hanging.adjusters[step.adjuster].moves[0].mmPerTurn;
  return Math.abs(step.changeMm) >= VISIBLE_SHARE * Math.abs(rise);
}

/** On three hangers every one carries; and what hardly has to be turned is left as it is. */
function canBeSetByFeel(hanging: Hanging, turns: readonly number[], adjuster: number): boolean {
  const rise = turns[adjuster] * hanging.adjusters[adjuster].moves[0].mmPerTurn;
  return hanging.hangers.length > 3 && isFreeOne(hanging, adjuster) && Math.abs(rise) >= WORTH_TURNING_MM;
}

/** A hanger of its own, that lets the deck go when it is lowered. */
function isFreeOne(hanging: Hanging, adjuster: number): boolean {
  const { moves } = hanging.adjusters[adjuster];
  return moves.length === 1 && hanging.hangers[moves[0].hanger].kind !== 'holds';
}

function canBeCleared(hanging: Hanging, turns: readonly number[], carriers: Carriers): boolean {
  const lowered = outOfTheWay(hanging, turns, carriers);
  if (lowered.length !== hanging.hangers.length - 3) return false;
  for (const { adjuster, down } of lowered) {
    if (hanging.adjusters[adjuster].travelTurns[0] > 0 - down) return false;
  }
  return true;
}

/** For every hanger besides the three, its own adjuster and how far to lower it: below all that the deck will come to. */
function outOfTheWay(
  hanging: Hanging,
  turns: readonly number[],
  carriers: Carriers,
): { adjuster: number; down: number }[] {
  const lowered: { adjuster: number; down: number }[] = [];
  const rises = hangerRises(hanging, turns);
  for (let j = 0; j < hanging.adjusters.length; j++) {
    const { moves } = hanging.adjusters[j];
    const own = moves[0].hanger;
    if (isFreeOne(hanging, j) && !isOneOf(carriers.hangers, own)) {
      // With raising before lowering the deck is nowhere lower here than where it starts or ends.
      const endMm = rises[own] < 0 ? rises[own] : toFloat(0);
      const downMm = CLEAR_MM - endMm * CLEAR_SHARE;
      lowered.push({ adjuster: j, down: downMm / Math.abs(moves[0].mmPerTurn) });
    }
  }
  return lowered;
}

/** Per adjuster: whether its turns lift the deck where hangers are free; where none are, whether they lift at all. */
function liftOffFree(hanging: Hanging, turns: readonly number[], carriers: Carriers | undefined): boolean[] {
  const lifts: boolean[] = [];
  for (let j = 0; j < turns.length; j++) {
    let lift = toFloat(0);
    for (const { hanger, mmPerTurn } of hanging.adjusters[j].moves) {
      if (carriers === undefined || hanging.hangers.length === 3) lift += mmPerTurn * turns[j];
      else {
        for (let h = 0; h < hanging.hangers.length; h++) {
          for (let k = 0; k < 3; k++) {
            if (carriers.hangers[k] === hanger && !isOneOf(carriers.hangers, h)) {
              lift += carriers.reach[h][k] * mmPerTurn * turns[j];
            }
          }
        }
      }
    }
    lifts.push(lift > 0);
  }
  return lifts;
}

function isOneOf(hangers: readonly number[], hanger: number): boolean {
  for (const h of hangers) if (h === hanger) return true;
  return false;
}
