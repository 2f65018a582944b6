/**
 * A machine while its five things are being typed: every fault beside its field, and a profile to draw as soon as what is
 * typed can be one. What is not typed yet is drawn as usual for its size, and never saved.
 */
import { z } from 'zod';
import { NumberedError } from '../errors/errors';
import { formFaults } from './form-faults';
import { machineFromTape, tapeSchema, type TapeDimensions } from './from-tape';
import type { MachineProfile } from './profile';

export interface FieldFault {
  /** Of the dimensions; empty where it is about the whole. */
  readonly field: string;
  readonly number: number;
  readonly text: string;
}

export interface Draft {
  /** The machine as far as it is known; left out where what is typed cannot be one. */
  readonly profile?: MachineProfile;
  /** Everything was typed and nothing stands against it. */
  readonly isComplete: boolean;
  readonly faults: readonly FieldFault[];
}

export type Typed = Readonly<Partial<Record<keyof TapeDimensions, unknown>>>;

/** Stand in for what is not typed yet: a machine of middle size (common practice, no source). */
const USUAL = {
  model: '?',
  family: 'mid-mount hung',
  blades: 2,
  bladeLengthMm: 450,
  spacingMm: 430,
  staggerMm: 120,
  wheelbaseMm: 1250,
  frontTrackMm: 780,
  rearTrackMm: 800,
  rotation: 'clockwise',
  cutHeightMm: 70,
} as const satisfies TapeDimensions;

export function draftMachine(typed: Typed): Draft {
  const faults = faultsOf(typed);
  if (faults.length === 0) {
    const made = tried(typed as TapeDimensions);
    return 'profile' in made ? { ...made, isComplete: true, faults } : { isComplete: false, ...made };
  }
  const wrong = new Set(faults.map((f) => f.field));
  const sound = Object.fromEntries(Object.entries(typed).filter(([field]) => !wrong.has(field)));
  const made = tried({ ...usualWith(sound), ...sound });
  return 'profile' in made
    ? { ...made, isComplete: false, faults }
    : { isComplete: false, faults: [...faults, ...made.faults] };
}

/** Blades that are drawn as usual keep clear of each other and of those that were typed. */
function usualWith(sound: Typed): TapeDimensions {
  const length = typeof sound.bladeLengthMm === 'number' ? sound.bladeLengthMm : USUAL.bladeLengthMm;
  const spacing = typeof sound.spacingMm === 'number' ? sound.spacingMm : length - 20;
  return {
    ...USUAL,
    bladeLengthMm: typeof sound.spacingMm === 'number' ? spacing + 20 : length,
    spacingMm: spacing,
    staggerMm: Math.round(Math.sqrt(Math.max(0, (length + 20) ** 2 - spacing ** 2))),
  };
}

function faultsOf(typed: Typed): FieldFault[] {
  const checked = tapeSchema.safeParse(typed);
  if (checked.success) return [];
  return checked.error.issues.map((issue) => {
    const field = String(issue.path[0] ?? '');
    const [text = ''] = formFaults(new z.ZodError([issue]), typed, 'these dimensions');
    return { field, number: 306, text: text.replace(`${field}: `, '') };
  });
}

/** Which dimension to look at when the profile made of them contradicts itself in this part. */
const FIELDS: Readonly<Record<string, keyof TapeDimensions>> = {
  spindles: 'spacingMm',
  wheels: 'wheelbaseMm',
  groundPlane: 'frontTrackMm',
  centreOfGravity: 'wheelbaseMm',
  cutHeightMm: 'cutHeightMm',
  hangers: 'spacingMm',
};

function tried(
  dimensions: TapeDimensions,
): { readonly profile: MachineProfile } | { readonly faults: FieldFault[] } {
  try {
    return { profile: machineFromTape(dimensions, 'what was typed') };
  } catch (error) {
    if (!(error instanceof NumberedError)) throw error;
    const said = error.about.replace('what was typed: ', '').split('; ');
    return {
      faults: said.map((text) => ({
        field: FIELDS[/^[a-zA-Z]+/.exec(text)?.[0] ?? ''] ?? '',
        number: error.number,
        text: text.replace(/^[a-zA-Z]+(\[\d+\])?: /, ''),
      })),
    };
  }
}
