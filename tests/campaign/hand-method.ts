/**
 * The hand method, SIMULATED, on the same simulated machines: a tape measure, a floor that nobody surveyed, one corner at
 * a time. All figures of the tape and the times are invented; the order of work is common practice, no source.
 *
 * Its best practice, fixed before any comparison: one end of every blade is marked and only that end is measured; blades
 * are looked at for bends first; the deck is seated before measuring; hangers are felt after every round and slack ones
 * taken up; corners are turned by what the thread says and measured again at once; a round is level, then rear heights,
 * then front heights against the rake; rounds go on until everything reads within a sixteenth of an inch of its target, at
 * most `MOST_ROUNDS`; nuts are tightened and everything is measured once more; what then is out goes through another
 * round. The result is accepted when the tape says that every measure is within its limits.
 */
import type { MachineProfile, Measure } from '../../host/machines/profile';
import { seededRandom } from '../../host/simulation/random';
import { createShop, type Shop } from '../../host/simulation/shop';
import type { FixtureBody, HeadShape } from '../../host/simulation/world';
import type { Machine } from './population';

/** 1/16 in: the marks of the tape. */
export const TAPE_MM = 25.4 / 16;
/** One reading: lying on the floor, the eye is not level with the blade's edge. */
const PARALLAX_SD_MM = 0.8;
/** The same for all readings of one person: who kneels high always reads low. Cancels in level and rake. */
const HABIT_SD_MM = 0.6;
const MOST_ROUNDS = 6;
/** Turning one corner and measuring again, within one step of a round. */
const MOST_TRIES = 2;
/** Crawling to a tip, setting the tape, reading it. */
const TAPE_S = 15;
const SETTLED_MM = TAPE_MM + 1e-9;

export interface HandResult {
  readonly accepted: boolean;
  /** Accepted as it came, without turning anything. */
  readonly acceptedOnArrival: boolean;
  readonly rounds: number;
  readonly minutes: number;
  /** After the last tightening, what the tape said and what was true. */
  readonly measures: readonly HandMeasure[];
}

export interface HandMeasure {
  readonly name: string;
  /** Undefined for a bend, which is only looked at. */
  readonly tapeMm: number | undefined;
  readonly trueMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
}

/** Where the tape hangs from: the cutting edge itself, straight down. */
const EDGE: HeadShape = { edgeMm: [0, 0, 0], beam: [0, 0, -1] };
const TAPE: FixtureBody = [EDGE, EDGE];
/** A tape knows no clamp, spans the grain of the floor, and a blade is not mistaken when one looks at it. */
const NO_CLAMP = {
  placementSdMm: 0,
  placementBiasMm: 0,
  chipProbability: 0,
  fixtureTiltSdDeg: 0,
  alongBladeSdMm: 0,
  textureSdMm: 0,
  wrongTipProbability: 0,
  wrongHeadingProbability: 0,
  knockProbability: 0,
};

export function handMethod(machine: Machine): HandResult {
  const { profile, seed, shop: widths, faults, wear } = machine;
  const shop = createShop({
    seed,
    profile,
    body: TAPE,
    ...widths,
    ...NO_CLAMP,
    faults: [...wear, ...faults],
  });
  const hands = tapeInHand(shop, profile, seed);
  const { technician } = shop;
  const seat = () => hands.spend(technician.seatDeck() / 1000);
  seat();
  hands.takeUpSlack();
  const straight = profile.measures.every((m) => m.what !== 'bend' || looksStraight(m, hands));
  let seen = hands.measureAll();
  const acceptedOnArrival = straight && allWithin(profile, seen);
  let rounds = 0;
  if (!acceptedOnArrival) {
    do {
      do {
        rounds += 1;
        round(profile, hands);
        hands.takeUpSlack();
        seat();
        seen = hands.measureAll();
      } while (rounds < MOST_ROUNDS && !allOnTarget(profile, seen));
      hands.spend(technician.tighten() / 1000);
      seat();
      seen = hands.measureAll();
    } while (rounds < MOST_ROUNDS && !allWithin(profile, seen));
  }
  return {
    accepted: acceptedOnArrival || (straight && allWithin(profile, seen)),
    acceptedOnArrival,
    rounds,
    minutes: hands.seconds() / 60,
    measures: profile.measures.map((m) => ({
      name: m.name,
      tapeMm: seen.get(m.name),
      trueMm: shop.trueMeasureMm(m.name),
      lowerMm: m.lowerMm,
      upperMm: m.upperMm,
    })),
  };
}

/** A blade that seems bent is measured once more before it is condemned. */
function looksStraight(bend: Extract<Measure, { what: 'bend' }>, tape: Tape): boolean {
  const firstMm = tape.bendMm(bend.spindle);
  return isWithin(bend, firstMm) || isWithin(bend, (firstMm + tape.bendMm(bend.spindle)) / 2);
}

type Tape = ReturnType<typeof tapeInHand>;

/** The technician with his tape, and the clock. */
function tapeInHand(shop: Shop, profile: MachineProfile, seed: number) {
  const { technician } = shop;
  const random = seededRandom(seed).split('tape');
  const habitMm = random.normal(HABIT_SD_MM);
  let seconds = 0;
  const spend = (more: number) => void (seconds += more);
  const readMm = (spindle: string, headingDeg: number, end: 'A' | 'B' = 'A') => {
    technician.clampOn(spindle, end);
    spend(technician.turnBladeTo(headingDeg) / 1000 + TAPE_S);
    const { distanceMm } = shop.settledScene();
    if (distanceMm === undefined) throw new Error('no floor under the blade');
    technician.takeOff();
    return TAPE_MM * Math.round((distanceMm + habitMm + random.normal(PARALLAX_SD_MM)) / TAPE_MM);
  };
  const measureAll = (wanted = profile.measures): Map<string, number> => {
    const tips = new Map<string, number>();
    const tip = (spindle: string, headingDeg: number) => {
      const key = `${spindle} ${headingDeg}`;
      const mm = tips.get(key) ?? readMm(spindle, headingDeg);
      tips.set(key, mm);
      return mm;
    };
    return new Map(
      wanted.flatMap((m) =>
        m.what === 'bend'
          ? []
          : [[m.name, m.terms.reduce((sum, t) => sum + t.weight * tip(t.spindle, t.headingDeg), 0)] as const],
      ),
    );
  };
  return {
    spend,
    seconds: () => seconds,
    measureAll,
    bendMm: (spindle: string) => readMm(spindle, 0, 'A') - readMm(spindle, 0, 'B'),
    /** Raises the corner by so much, as far as its thread tells. */
    raise: (adjuster: Adjuster, byMm: number) => {
      const turns = byMm / (adjuster.moves[0]?.mmPerTurn ?? 1);
      const steps = Math.round(turns / adjuster.stepTurns) * adjuster.stepTurns;
      if (steps !== 0) spend(technician.turn(adjuster.name, steps) / 1000);
    },
    takeUpSlack: () => {
      for (const { name, kind } of profile.hangers) {
        if (kind === 'holds') continue;
        spend(shop.population.feelMs / 1000);
        const own = profile.adjusters.some((a) => a.moves.length === 1 && a.moves[0]?.hanger === name);
        if (technician.feel(name) === 'slack' && own) spend(technician.takeUpByFeel(name) / 1000);
      }
    },
  };
}

/** Level, rear heights, front heights against the rake. */
function round(profile: MachineProfile, tape: Tape): void {
  const corners = cornersOf(profile);
  const [level, rake, height] = ['level', 'rake', 'cut height'].map((name) =>
    profile.measures.find((m): m is TipsMeasure => m.what === 'tips' && m.name === name),
  );
  if (level !== undefined) {
    untilSettled(tape, [level], ([offMm = 0]) => {
      // Left too high: raise the right. A front corner of that side follows, so that no hanger hangs free.
      const low = offMm > 0 ? 'right' : 'left';
      for (const at of ['rear', 'front'] as const) {
        const corner = corners.find((c) => c.at === at && c.side === low);
        if (corner === undefined) continue;
        tape.raise(corner.adjuster, (Math.abs(offMm) * corners.widthMm(at)) / level.spanMm);
      }
    });
  }
  if (height !== undefined) {
    // The rear tips stand higher than the front by the rake.
    untilSettled(tape, rake === undefined ? [height] : [height, rake], ([heightOffMm = 0, rakeOffMm = 0]) => {
      const rearOffMm = heightOffMm + rakeOffMm;
      if (Math.abs(rearOffMm) <= SETTLED_MM) return;
      for (const c of corners.filter((c) => c.at === 'rear')) tape.raise(c.adjuster, -rearOffMm);
    });
  }
  if (rake !== undefined) {
    untilSettled(tape, [rake], ([offMm = 0]) => {
      const raiseMm = (offMm * corners.lengthMm) / Math.max(1, rake.spanMm);
      for (const c of corners.filter((c) => c.at === 'front')) tape.raise(c.adjuster, raiseMm);
    });
  }
}

/** Measures, turns, measures again. */
function untilSettled(tape: Tape, measures: TipsMeasure[], turn: (offMm: number[]) => void): void {
  for (let tries = 0; tries < MOST_TRIES; tries += 1) {
    const seen = tape.measureAll(measures);
    const offMm = measures.map((m) => (seen.get(m.name) ?? m.targetMm) - m.targetMm);
    if (offMm.every((mm) => Math.abs(mm) <= SETTLED_MM)) return;
    turn(offMm);
  }
}

type Adjuster = MachineProfile['adjusters'][number];
type TipsMeasure = Extract<Measure, { what: 'tips' }>;

interface Corner {
  readonly adjuster: Adjuster;
  readonly at: 'front' | 'rear';
  readonly side: 'left' | 'right' | 'middle';
  readonly xMm: number;
  readonly yMm: number;
}

/** Adjusters by the corner of the deck that they raise. */
function cornersOf(profile: MachineProfile) {
  const places = profile.adjusters.map((adjuster) => {
    const moved = profile.hangers.filter((h) => adjuster.moves.some((m) => m.hanger === h.name));
    const mean = (of: (h: (typeof moved)[number]) => number) =>
      moved.reduce((sum, h) => sum + of(h), 0) / Math.max(1, moved.length);
    return { adjuster, xMm: mean((h) => h.xMm), yMm: mean((h) => h.yMm) };
  });
  const middleMm = (Math.min(...places.map((p) => p.xMm)) + Math.max(...places.map((p) => p.xMm))) / 2;
  const corners = places.map((place): Corner => ({
    ...place,
    at: place.xMm > middleMm ? 'front' : 'rear',
    side: place.yMm > 50 ? 'left' : place.yMm < -50 ? 'right' : 'middle',
  }));
  const meanX = (at: Corner['at']) => {
    const own = corners.filter((c) => c.at === at);
    return own.reduce((sum, c) => sum + c.xMm, 0) / Math.max(1, own.length);
  };
  return Object.assign(corners, {
    lengthMm: meanX('front') - meanX('rear'),
    widthMm: (at: Corner['at']) => {
      const own = corners.filter((c) => c.at === at).map((c) => c.yMm);
      return Math.max(...own) - Math.min(...own);
    },
  });
}

const isWithin = (m: Measure, mm: number) => mm >= m.lowerMm && mm <= m.upperMm;

function allWithin(profile: MachineProfile, seen: Map<string, number>): boolean {
  return profile.measures.every((m) => m.what === 'bend' || isWithin(m, seen.get(m.name) ?? NaN));
}

function allOnTarget(profile: MachineProfile, seen: Map<string, number>): boolean {
  return profile.measures.every(
    (m) => m.what === 'bend' || Math.abs((seen.get(m.name) ?? NaN) - m.targetMm) <= SETTLED_MM,
  );
}
