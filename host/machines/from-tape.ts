/**
 * A machine never seen before: its profile from five things taken from outside with a tape. Everything else (measures,
 * supports, preparation) follows from them and from the family; what is guessed says so in the profile.
 */
import { z } from 'zod';
import { numberedError } from '../errors/errors';
import { readJson } from '../errors/json-fault';
import { defaultMeasures } from './default-measures';
import { defaultPreparation } from './default-preparation';
import { defaultSupports, GUESSED_HANGER_MM } from './default-supports';
import { formFaults } from './form-faults';
import { checkProfile } from './load';
import { FAMILIES, type Family, type MachineProfile } from './profile';
import { TAPE_MM } from './taped';

const rotation = z.enum(['clockwise', 'counter-clockwise']);
const sdMm = z.number().gt(0).max(50);

/** The five things: blades, their length, how the spindles stand, how the wheels stand, and which way the blades turn. */
export const tapeSchema = z
  .strictObject({
    format: z.literal('swathplane-tape/1').default('swathplane-tape/1'),
    model: z.string().min(1).max(60),
    family: z.enum(FAMILIES),
    blades: z.int().min(1).max(5),
    /** From tip to tip of one blade. */
    bladeLengthMm: z.number().min(200).max(2000),
    /** From spindle to spindle across the machine; left out with one blade. */
    spacingMm: z.number().min(100).max(2000).optional(),
    /** How far every second spindle, counted from the left, stands ahead of the others; negative: behind. */
    staggerMm: z.number().min(-1000).max(1000).default(0),
    /** From the drive wheels' axle to the front axle. */
    wheelbaseMm: z.number().min(300).max(4000),
    /** Between the middles of the tyres; 0 for a single front wheel. */
    frontTrackMm: z.number().min(0).max(3000),
    rearTrackMm: z.number().min(200).max(3000),
    /** Seen from above, of all blades or of each from the left. */
    rotation: z.union([rotation, z.array(rotation).min(1)]),
    /** Cut height that the owner uses most. */
    cutHeightMm: z.number().min(15).max(150),
    /** Left out: as usual in the family. */
    groundPlane: z.enum(['pivoting front axle', 'rigid four wheels']).optional(),
    bladeKind: z.enum(['straight', 'dropped tip', 'mulching']).default('straight'),
    /** A belt couples the blades, which stand square to their neighbours. */
    timed: z.boolean().default(false),
    /** From the drive wheels' axle forward to the middle of the spindles; left out: as usual in the family. */
    deckAheadMm: z.number().min(-1000).max(4000).optional(),
    /** Standard deviation of what the tape gave, of all dimensions or of each. */
    uncertaintyMm: z
      .union([
        sdMm,
        z.strictObject({
          bladeLengthMm: sdMm,
          spacingMm: sdMm,
          staggerMm: sdMm,
          wheelbaseMm: sdMm,
          trackMm: sdMm,
        }),
      ])
      .default(TAPE_MM),
  })
  .refine((t) => t.blades === 1 || t.spacingMm !== undefined, {
    path: ['spacingMm'],
    message: 'the distance from spindle to spindle, as there is more than one blade',
  })
  .refine((t) => typeof t.rotation === 'string' || t.rotation.length === t.blades, {
    path: ['rotation'],
    message: 'one rotation for all blades, or one for each',
  });

/** As written in a file: what has a default may be left out. */
export type TapeDimensions = z.input<typeof tapeSchema>;
type Dimensions = z.output<typeof tapeSchema>;

/** The dimensions written in `text`. Throws 301 and 306. */
export function parseTape(text: string, source: string): TapeDimensions {
  return checkTape(readJson(text, source, 'profile unreadable'), source);
}

/**
 * The profile of a machine of these dimensions. Height, level and rake do not need to know where along the machine the
 * deck hangs: an error common to all spindles meets only the slope of the floor's unevenness. Throws 306 for dimensions
 * that are missing or of the wrong form, 303 for those that cannot all be true beyond what the tape is uncertain.
 */
export function machineFromTape(given: TapeDimensions, source = 'dimensions'): MachineProfile {
  const tape = checkTape(given, source);
  const wheels = wheelsOf(tape);
  const spindles = spindlesOf(tape);
  return checkProfile(
    {
      format: 'swathplane-machine/1',
      model: tape.model,
      invented: false,
      family: tape.family,
      groundPlane:
        tape.frontTrackMm === 0 ? 'three wheels' : (tape.groundPlane ?? USUAL[tape.family].groundPlane),
      wheels,
      bladeKind: tape.bladeKind,
      spindles,
      ...(tape.timed ? { timedDeck: true } : {}),
      ...defaultSupports(tape.family, { spindles, wheels }),
      cutHeightMm: tape.cutHeightMm,
      measures: defaultMeasures(spindles, tape.cutHeightMm),
      uncertaintyMm: uncertaintyOf(tape),
      preparation: defaultPreparation(tape.family, tape.timed),
    },
    source,
  );
}

/** The form of the dimensions as JSON Schema draft-07. */
export function tapeJsonSchema(): object {
  return z.toJSONSchema(tapeSchema, { target: 'draft-7', io: 'input' });
}

function checkTape(data: unknown, source: string): Dimensions {
  const checked = tapeSchema.safeParse(data);
  if (checked.success) return checked.data;
  const faults = formFaults(checked.error, data, 'these dimensions').join('; ');
  throw numberedError('dimensions incomplete', `${source}: ${faults}`);
}

/** Where the deck hangs along the machine, as a share of the wheelbase, and how the wheels make a plane (common practice, no source). */
const USUAL: Record<Family, { deckAt: number; groundPlane: MachineProfile['groundPlane'] }> = {
  'mid-mount hung': { deckAt: 0.5, groundPlane: 'pivoting front axle' },
  'front rod with rear lift arms': { deckAt: 0.5, groundPlane: 'pivoting front axle' },
  'floating with gauge wheels': { deckAt: 0.47, groundPlane: 'rigid four wheels' },
  'out-front': { deckAt: 0.68, groundPlane: 'rigid four wheels' },
  'walk-behind': { deckAt: 0.48, groundPlane: 'rigid four wheels' },
  'stand-on': { deckAt: 0.55, groundPlane: 'rigid four wheels' },
};

function wheelsOf({ wheelbaseMm, frontTrackMm, rearTrackMm }: Dimensions): MachineProfile['wheels'] {
  const axle = (name: string, xMm: number, trackMm: number) => [
    { name: `${name} left`, xMm, yMm: trackMm / 2 },
    { name: `${name} right`, xMm, yMm: -trackMm / 2 },
  ];
  const front =
    frontTrackMm === 0
      ? [{ name: 'front', xMm: wheelbaseMm, yMm: 0 }]
      : axle('front', wheelbaseMm, frontTrackMm);
  return [...front, ...axle('rear', 0, rearTrackMm)];
}

const NAMES: Record<number, readonly string[]> = {
  1: ['centre'],
  2: ['left', 'right'],
  3: ['left', 'centre', 'right'],
  4: ['outer left', 'inner left', 'inner right', 'outer right'],
  5: ['far left', 'near left', 'centre', 'near right', 'far right'],
};

function spindlesOf(tape: Dimensions): MachineProfile['spindles'] {
  const { blades, bladeLengthMm, spacingMm = 0, staggerMm, rotation: turns } = tape;
  const middleMm = tape.deckAheadMm ?? USUAL[tape.family].deckAt * tape.wheelbaseMm;
  return (NAMES[blades] ?? []).map((name, k) => ({
    name,
    xMm: middleMm + (blades === 1 ? 0 : (k % 2 === 1 ? 0.5 : -0.5) * staggerMm),
    yMm: ((blades - 1) / 2 - k) * spacingMm,
    tipRadiusMm: bladeLengthMm / 2,
    rotation: typeof turns === 'string' ? turns : (turns[k] ?? 'clockwise'),
    blockedArcsDeg: [],
    ...(tape.timed ? { timedOffsetDeg: k % 2 === 1 ? 90 : 0 } : {}),
  }));
}

/** Per coordinate: the outer spindles carry the error of every spacing, a tip half that of the blade's length. */
function uncertaintyOf({
  blades,
  uncertaintyMm: sd,
}: Dimensions): NonNullable<MachineProfile['uncertaintyMm']> {
  const of =
    typeof sd === 'number'
      ? { bladeLengthMm: sd, spacingMm: sd, staggerMm: sd, wheelbaseMm: sd, trackMm: sd }
      : sd;
  const acrossMm = ((blades - 1) / 2) * of.spacingMm;
  return {
    spindleMm: blades === 1 ? of.spacingMm : Math.max(acrossMm, of.staggerMm / 2),
    tipRadiusMm: of.bladeLengthMm / 2,
    wheelMm: Math.max(of.wheelbaseMm, of.trackMm / 2),
    hangerMm: GUESSED_HANGER_MM,
  };
}
