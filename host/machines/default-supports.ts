/**
 * Where a deck that nobody has drawn is most likely carried, and by what, from its family: a guess to measure by. Nothing
 * here enters a reading's height; what one turn does is learned from a trial turn before anything is adjusted.
 */
import type { Family, MachineProfile } from './profile';

type Hanger = MachineProfile['hangers'][number];
type Adjuster = MachineProfile['adjusters'][number];

/** What a guess at a hanger's place is worth, standard deviation per coordinate (no source). */
export const GUESSED_HANGER_MM = 80;
/** So little is known of a ratio that a trial turn is asked for before it is used. */
const UNKNOWN_RATIO = 0.5;
/** An M10 or M12 nut on a lever of about 1 (ISO 261: pitches 1.5 and 1.75 mm). */
const GUESSED_MM_PER_TURN = 1.75;
/** The guess holds for every height setting until it has been tried. */
const LOWEST_SETTING_MM = 15;
const HIGHEST_SETTING_MM = 150;

type Deck = Pick<MachineProfile, 'spindles' | 'wheels'>;

/** Hangers, one adjuster each, and the place of the deck's weight. */
export function defaultSupports(
  family: Family,
  deck: Deck,
): Pick<MachineProfile, 'hangers' | 'adjusters' | 'centreOfGravity'> {
  const box = boxOf(deck.spindles);
  const hangers = HANGERS[family](box, deck);
  return {
    hangers,
    adjusters: hangers.map((h) => adjusterOf(h, family)),
    centreOfGravity: { xMm: Math.round((box.frontMm + box.rearMm) / 2), yMm: 0 },
  };
}

interface Box {
  /** Between the hangers' usual places, a little inside the blade circles. */
  readonly frontMm: number;
  readonly rearMm: number;
  readonly halfFrontMm: number;
  readonly halfRearMm: number;
}

function boxOf(spindles: Deck['spindles']): Box {
  const halfMm = Math.max(...spindles.map((s) => Math.abs(s.yMm) + s.tipRadiusMm));
  return {
    frontMm: Math.round(Math.max(...spindles.map((s) => s.xMm + 0.7 * s.tipRadiusMm))),
    rearMm: Math.round(Math.min(...spindles.map((s) => s.xMm - 0.8 * s.tipRadiusMm))),
    halfFrontMm: Math.round(0.5 * halfMm),
    halfRearMm: Math.round(0.65 * halfMm),
  };
}

const HANGERS: Record<Family, (box: Box, deck: Deck) => Hanger[]> = {
  'mid-mount hung': (box) => [...pair('front', box.frontMm, box.halfFrontMm), ...rearPair(box)],
  'stand-on': (box) => [...pair('front', box.frontMm, box.halfFrontMm), ...rearPair(box)],
  'front rod with rear lift arms': (box) => [
    { name: 'front rod', xMm: box.frontMm, yMm: 0, kind: 'holds' },
    ...rearPair(box),
  ],
  'floating with gauge wheels': (box) => [
    ...pair('front gauge', box.frontMm, box.halfRearMm, 'stands'),
    ...rearPair(box),
  ],
  'out-front': (box, { wheels }) => {
    const foremostMm = Math.max(...wheels.map((w) => w.xMm));
    const own = wheels.filter((w) => w.xMm === foremostMm);
    return [
      ...pair('arm', box.rearMm, box.halfFrontMm, 'holds'),
      ...own.map(({ name, xMm, yMm }): Hanger => ({ name: `deck wheel ${name}`, xMm, yMm, kind: 'stands' })),
    ];
  },
  'walk-behind': (_, { wheels }) =>
    wheels.map(({ name, xMm, yMm }): Hanger => ({ name, xMm, yMm, kind: 'stands' })),
};

function rearPair(box: Box): Hanger[] {
  return pair('rear', box.rearMm, box.halfRearMm);
}

function pair(name: string, xMm: number, halfMm: number, kind: Hanger['kind'] = 'hangs'): Hanger[] {
  return [
    { name: `${name} left`, xMm, yMm: halfMm, kind },
    { name: `${name} right`, xMm, yMm: -halfMm, kind },
  ];
}

function adjusterOf({ name, kind }: Hanger, family: Family): Adjuster {
  const isRod = family === 'front rod with rear lift arms' && kind === 'holds';
  const atHeights = [LOWEST_SETTING_MM, HIGHEST_SETTING_MM].map((cutHeightMm) => ({
    cutHeightMm,
    mmPerTurn: GUESSED_MM_PER_TURN,
  }));
  return {
    name,
    source: 'not known: a trial turn shows it',
    moves: [{ hanger: name, mmPerTurn: GUESSED_MM_PER_TURN, ...(isRod ? { atHeights } : {}) }],
    ratioUncertainty: UNKNOWN_RATIO,
    raises: { rotation: 'clockwise', seenFrom: 'above' },
    travelTurns: [-5, 5],
    stepTurns: 1 / 6,
  };
}
