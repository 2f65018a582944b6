import type { MachineProfile } from '../machines/profile';
import { replacePart, shortWayDeg, turnCoupled, type Blade, type BladeEnd } from './blade';
import type { Deck } from './deck';
import type { Linkage } from './linkage';
import { addPlanes } from './plane';
import type { Population } from './population';
import type { Random } from './random';
import type { Timeline } from './stage';

/**
 * What a technician does in the simulated shop, imperfectly. An act begins when the one before it has ended and the verb
 * returns how long it takes, in ms of simulated time; what it changes is in place at its end. While it lasts scenes show
 * movement, afterwards the deck rings out for a moment and is still.
 */
export interface Technician {
  /** Clamps the fixture on the tip of one end, wherever that blade points. */
  clampOn(spindle: string, end: BladeEnd): number;
  /** Turns the blade, fixture on it, until that end points to the heading; set by eye. */
  turnBladeTo(headingDeg: number): number;
  /** Knocks the fixture, so that it shifts on the blade. */
  knock(): number;
  /** Presses the fixture's button. */
  press(): number;
  /** Pins the head in its low (0) or high (1) position. */
  pinHead(position: 0 | 1): number;
  /** Puts the fixture on an edge of its height master; which pair of edges is used follows the head's position. */
  putOnMaster(edge: 'low' | 'high'): number;
  /** Takes the fixture off and lays it down. */
  takeOff(): number;
  /** Turns an adjuster, positive in the raising sense. It stops where its travel ends: see `lastTurns`. */
  turn(adjuster: string, turns: number): number;
  /** Turns a hanger that is slack until it just carries; leaves one that carries alone. */
  takeUpByFeel(hanger: string): number;
  /** Shakes a hanger: slack beyond the threshold is felt. */
  feel(hanger: string): 'carrying' | 'slack';
  /** Raises the deck, lowers it onto its stop, presses it down and releases it twice. */
  seatDeck(): number;
  /** Presses the deck down and releases it, so that it comes to where its hangers hold it. */
  pressDown(): number;
  /** Tightens all lock nuts, which shifts the hangers a little. */
  tighten(): number;
  /** Rolls the machine onto a shim under one wheel. */
  shimWheel(wheel: string, heightMm: number): number;
  /** Takes a blade off and puts it back half a turn round on its shaft. */
  refitBladeHalfTurn(spindle: string): number;
  /** Pushes the tip that the fixture is on up and pulls it down, and lets go. */
  pushAndPull(): number;
  /** Puts a new or a known good part in. The fixture is off the blade. */
  replacePart(spindle: string, part: 'blade' | 'shaft or hub' | 'spindle'): number;
  /** Height of a blade end over the floor under it, read with a ruler to half a millimetre. */
  readByRuler(spindle: string, end: BladeEnd, headingDeg: number): number;
  /** Lays a straightedge on the floor and reads the widest gap less the narrowest, with a wedge, to half a millimetre. */
  layStraightedge(): number;
  /** Turns that the last adjuster really made by the count of its flats, sign as in `turn`. */
  readonly lastTurns: number;
}

const RAD = Math.PI / 180;
/** How far the deck is raised before it is lowered onto its stop. */
const RAISED_MM = 40;
/** One push at the tip. */
const PUSH_MS = 500;

export interface TechnicianTools {
  readonly profile: MachineProfile;
  readonly blades: readonly Blade[];
  readonly linkage: Linkage;
  readonly deck: Deck;
  readonly timeline: Timeline;
  readonly random: Random;
  readonly population: Population;
  readonly shimWheel: (wheel: string, heightMm: number) => void;
  /** Of a blade's end over the floor under it, with the blade pointed there. */
  readonly heightOverFloorMm: (blade: Blade, end: BladeEnd, headingDeg: number) => number;
  /** Of the floor under a straightedge. */
  readonly unevennessMm: () => number;
}

export function createTechnician(tools: TechnicianTools): Technician {
  const { profile, blades, linkage, deck, timeline, random, population, heightOverFloorMm, unevennessMm } =
    tools;
  let lastTurns = 0;
  // Habits have a source of their own, so that a technician without any draws what he always drew.
  const habits = random.split('habits');
  const ruler = random.split('ruler');
  const wedge = random.split('wedge');
  let clampErrorMm = 0;

  const onBlade = () => {
    const { hold } = timeline.last;
    if (hold.where !== 'blade') throw new Error('the fixture is on no blade');
    return hold;
  };
  const seatOn = (placementSdMm: number, tiltSdDeg: number) => ({
    placementMm: random.normal(placementSdMm),
    rollRad: random.normal(tiltSdDeg) * RAD,
    pitchRad: random.normal(tiltSdDeg) * RAD,
  });
  /** One clamping's error along the beam: like the one before to a share, and now and then there is a chip under it. */
  const clampedMm = (freshMm: number): number => {
    const share = population.placementCarryOver;
    clampErrorMm = share * clampErrorMm + Math.sqrt(1 - share * share) * freshMm;
    const chip = habits.chance(population.chipProbability)
      ? -population.chipMeanMm * Math.log(1 - habits.uniform())
      : 0;
    return clampErrorMm + population.placementBiasMm + chip;
  };
  const knocked = <Seated extends { placementMm: number; rollRad: number }>(hold: Seated): Seated => ({
    ...hold,
    placementMm: hold.placementMm + random.normal(population.knockSdMm),
    rollRad: hold.rollRad + random.normal(population.fixtureTiltSdDeg) * RAD,
  });
  /** Moves hangers by `act`, and shows the deck following them in `durationMs`. */
  const adjust = (durationMs: number, act: () => void) => {
    const before = linkage.heightsMm();
    act();
    const after = linkage.heightsMm();
    const deckAt = (share: number) => deck.seated(before.map((mm, i) => mm + share * (after[i] - mm)));
    return timeline.begin('move', durationMs, { deck: deck.seated() }, deckAt);
  };
  const slackOf = (hanger: string) => {
    const index = profile.hangers.findIndex((candidate) => candidate.name === hanger);
    if (index < 0) throw new Error(`the machine has no hanger ${hanger}`);
    return deck.mean().slackMm[index];
  };
  /** The tip that is really clamped: now and then another end, or another blade. */
  const tipFor = (spindle: string, end: BladeEnd): readonly [number, BladeEnd] => {
    const wanted = indexOfBlade(blades, spindle);
    if (!random.chance(population.wrongTipProbability)) return [wanted, end];
    if (blades.length === 1 || random.chance(0.5)) return [wanted, end === 'A' ? 'B' : 'A'];
    return [(wanted + 1) % blades.length, end];
  };

  return {
    get lastTurns() {
      return lastTurns;
    },
    clampOn(spindle, end) {
      const [index, clamped] = tipFor(spindle, end);
      const headingDeg = headingOf(blades[index], clamped);
      const alongMm = random.normal(population.alongBladeSdMm);
      const fresh = seatOn(population.placementSdMm, population.fixtureTiltSdDeg);
      const seat = { ...fresh, placementMm: clampedMm(fresh.placementMm) };
      return timeline.begin('carry', population.clampMs, {
        hold: { where: 'blade', spindle: index, end: clamped, headingDeg, alongMm, ...seat },
      });
    },
    turnBladeTo(headingDeg) {
      let hold = onBlade();
      if (random.chance(population.knockProbability)) hold = knocked(hold);
      const quarterDeg = habits.chance(population.wrongHeadingProbability)
        ? habits.chance(0.5)
          ? 90
          : -90
        : 0;
      const setDeg = headingDeg + population.headingBiasDeg + quarterDeg;
      const trueDeg = shortWayDeg(0, setDeg + random.normal(population.headingSdDeg));
      const blade = blades[hold.spindle];
      const before = blade.headingDeg;
      blade.headingDeg = hold.end === 'A' ? trueDeg : shortWayDeg(180, trueDeg);
      turnCoupled(profile, blades, hold.spindle, shortWayDeg(before, blade.headingDeg));
      return timeline.begin('move', population.turnBladeMs, { hold: { ...hold, headingDeg: trueDeg } });
    },
    knock: () => timeline.begin('move', population.pressMs, { hold: knocked(onBlade()) }),
    press: () => timeline.begin('touch', population.pressMs, {}),
    pinHead: (position) => timeline.begin('carry', population.takeOffMs, { head: position }),
    putOnMaster(edge) {
      const edgeMm = population.masterEdgesMm[timeline.last.head][edge];
      const seat = seatOn(population.masterPlacementSdMm, population.masterTiltSdDeg);
      return timeline.begin('carry', population.masterMs, { hold: { where: 'master', edgeMm, ...seat } });
    },
    takeOff: () => timeline.begin('carry', population.takeOffMs, { hold: { where: 'hand' } }),
    turn(adjuster, turns) {
      const meant =
        turns +
        random.normal(population.turnSettingSdTurns) +
        random.normal(population.turnCountSdTurns) * Math.sqrt(Math.abs(turns));
      const durationMs = population.fetchWrenchMs + population.perTurnMs * Math.abs(turns);
      return adjust(durationMs, () => {
        lastTurns = linkage.turn(adjuster, meant);
      });
    },
    takeUpByFeel(hanger) {
      const slackMm = slackOf(hanger);
      const errorMm = random.normal(population.feelSdMm);
      return adjust(population.fetchWrenchMs, () => {
        lastTurns = slackMm > 0 ? linkage.raise(hanger, slackMm + errorMm) : 0;
      });
    },
    feel(hanger) {
      timeline.begin('move', population.feelMs, {});
      return slackOf(hanger) > population.feelThresholdMm ? 'slack' : 'carrying';
    },
    seatDeck() {
      const before = timeline.last.deck;
      deck.seat();
      linkage.release();
      const after = deck.seated();
      const deckAt = (share: number) => {
        const straight = addPlanes(before, addPlanes(after, before, -1), share);
        return { ...straight, z0Mm: straight.z0Mm + RAISED_MM * Math.sin(Math.PI * share) };
      };
      return timeline.begin('move', population.seatMs, { deck: after }, deckAt);
    },
    pressDown: () => adjust(population.pressMs, () => linkage.release()),
    tighten: () => adjust(population.tightenMs, () => linkage.shift(population.tightenShiftSdMm)),
    shimWheel(wheel, heightMm) {
      tools.shimWheel(wheel, heightMm);
      return timeline.begin('move', population.seatMs, { deck: deck.seated() });
    },
    refitBladeHalfTurn(spindle) {
      const index = indexOfBlade(blades, spindle);
      const { hold } = timeline.last;
      if (hold.where === 'blade' && hold.spindle === index) {
        throw new Error('take the fixture off this blade before it is refitted');
      }
      const blade = blades[index];
      blade.refitted = !blade.refitted;
      return timeline.begin('move', population.seatMs, {});
    },
    pushAndPull() {
      const hold = onBlade();
      const { playMm } = blades[hold.spindle];
      const by = (mm: number) => ({ hold: { ...hold, placementMm: hold.placementMm + mm } });
      timeline.begin('move', PUSH_MS, by(playMm / 2));
      timeline.begin('move', 2 * PUSH_MS, by(-playMm / 2));
      return timeline.begin('move', PUSH_MS, by(0));
    },
    replacePart(spindle, part) {
      const index = indexOfBlade(blades, spindle);
      replacePart(blades[index], part, profile.spindles[index].stackedOn?.aboveMm ?? 0);
      return timeline.begin('move', population.seatMs, {});
    },
    readByRuler(spindle, end, headingDeg) {
      const heightMm = heightOverFloorMm(blades[indexOfBlade(blades, spindle)], end, headingDeg);
      return Math.round(2 * (heightMm + ruler.normal(population.rulerSdMm))) / 2;
    },
    layStraightedge() {
      return Math.max(0, Math.round(2 * (unevennessMm() + wedge.normal(population.wedgeSdMm))) / 2);
    },
  };
}

const headingOf = (blade: Blade, end: BladeEnd): number =>
  end === 'A' ? blade.headingDeg : shortWayDeg(180, blade.headingDeg);

function indexOfBlade(blades: readonly Blade[], spindle: string): number {
  const index = blades.findIndex((blade) => blade.name === spindle);
  if (index < 0) throw new Error(`the machine has no spindle ${spindle}`);
  return index;
}
