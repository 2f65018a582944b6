/** What is to be prepared on a machine without a profile of its own, by family. Common practice, no source. */
import type { Family, MachineProfile } from './profile';

type Item = MachineProfile['preparation'][number];

const item = (id: string, text: string): Item => ({ id, text });

const TYRES = item(
  'tyres-same',
  'Left and right tyres are of one size and equally worn, at the pressures of the manual',
);
const AXLE: Item = {
  ...item('axle-height', 'Drive axle above the floor, left minus right'),
  number: { unit: 'mm', lower: -3, upper: 3 },
};
const BALLAST = item(
  'load-as-it-mows',
  'Fuel at half, bagger or mulch kit as it mows, ballast in place of the driver',
);
const SHELL = item('shell-scraped', 'Shell scraped clean inside, up to the spindle housings');
/** A loose blade has no height: nothing is measured before this is in order. */
const BLADES = {
  ...item('blades-tight', 'Blades tight, right way up, all of one part number; worn corners noted'),
  gate: true,
};
const TIMING = item(
  'belt-timing',
  'Toothed belt sits on its marks; turned by hand the blades pass clear of one another',
);
const ROLLERS = item(
  'rollers-off-floor',
  'Anti-scalp rollers and gauge wheels raised clear of the floor; their old places noted',
);
const HEIGHT = item('cut-height-set', 'Height lever at the cut height that the owner uses most');
const LOWERED = item(
  'deck-lowered',
  'Deck lowered from above onto its stop, not held up by a pedal or by oil',
);
const PRESSED = item('deck-pressed', 'Deck pressed down and released twice');
const CLEAR = item(
  'deck-hangs-clear',
  'Deck hangs clear of the floor all round while the load on the wheels is judged',
);
const SPRING = item('lift-spring', 'Lift-assist spring hooked in and set as the manual says');
const FLOAT = item('float-open', 'Lift in its float position, no oil pressure on the deck');
const LOCK_NUTS = item(
  'lock-nuts-loose',
  'Deck blocked up, lock nuts of the adjusters loosened, blocks taken away again',
);

const HUNG = [
  TYRES,
  AXLE,
  BALLAST,
  SHELL,
  BLADES,
  ROLLERS,
  HEIGHT,
  LOWERED,
  PRESSED,
  CLEAR,
  SPRING,
  LOCK_NUTS,
];

const BY_FAMILY: Record<Family, readonly Item[]> = {
  'mid-mount hung': HUNG,
  'front rod with rear lift arms': HUNG,
  'stand-on': HUNG.map((i) =>
    i === BALLAST
      ? item(
          'platform-ballast',
          'Fuel at half, ballast on the platform where the feet go; nobody stands on it',
        )
      : i,
  ),
  'floating with gauge wheels': [
    TYRES,
    item(
      'gauge-wheels-on-floor',
      'Gauge wheels of one size, equally worn, on the floor: they carry this deck',
    ),
    ...[AXLE, BALLAST, SHELL, BLADES, HEIGHT, FLOAT, PRESSED, LOCK_NUTS],
  ],
  'out-front': [
    TYRES,
    item(
      'deck-wheels-on-floor',
      'The deck’s own wheels of one size, equally worn, on the floor, pointing as they do when mowing',
    ),
    ...[AXLE, BALLAST, SHELL, BLADES, HEIGHT, FLOAT, PRESSED, LOCK_NUTS],
  ],
  'walk-behind': [
    item('wheels-same', 'All wheels of the size that belongs there, worn alike, no play at the axle'),
    item('wheel-heights-same', 'All wheels at the height setting that the owner mows with'),
    item('load-as-it-mows', 'Fuel at half, collecting bag fitted and empty if the owner mows with it'),
    item('handle-free', 'Nobody holds the handle, and nothing leans on it'),
    SHELL,
    BLADES,
    item('shell-pressed', 'Shell pressed down and released twice'),
    item('clamp-bolts-loose', 'Bolts of the wheel brackets loosened, shell blocked up while that is done'),
  ],
};

/** A fresh list. Timed blades have one item more. */
export function defaultPreparation(family: Family, timed: boolean): Item[] {
  return BY_FAMILY[family].flatMap((i) => (i === BLADES && timed ? [i, TIMING] : [i]));
}
