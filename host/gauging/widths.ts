import type { Widths } from '../../protocol/solver';
import type { PlacementStudy } from './study/accept';

/**
 * The standard deviations that the tip model starts from, each with where it comes from. Until a repeatability study,
 * a certificate or a survey replaces it, a width is assumed and the record says so.
 */
export interface Width {
  readonly value: number;
  readonly unit: 'mm' | 'rad' | 'deg' | '1';
  readonly source: 'assumed' | 'study' | 'certificate' | 'survey';
  readonly reason: string;
}

export const ASSUMED_WIDTHS = {
  placementMm: {
    value: 0.25,
    unit: 'mm',
    source: 'assumed',
    reason: 'clamp seats on a worn edge; one value per clamping',
  },
  textureMm: { value: 0.1, unit: 'mm', source: 'assumed', reason: 'brushed concrete under a 1 mm spot' },
  floorMm: {
    value: 1.0,
    unit: 'mm',
    source: 'assumed',
    reason: 'unsurveyed bay that looks flat: as the flattest line of a real slab whose levels were published',
  },
  floorLengthMm: {
    value: 1000,
    unit: 'mm',
    source: 'assumed',
    reason: 'the same levels are likeliest for about a metre',
  },
  offsetMm: {
    value: 0.1,
    unit: 'mm',
    source: 'assumed',
    reason: 'what the opening reading on the height master leaves',
  },
  gain: {
    value: 0.002,
    unit: '1',
    source: 'assumed',
    reason: 'linearisation between the two edges of the height master',
  },
  spindleHeightMm: { value: 0.3, unit: 'mm', source: 'assumed', reason: 'bracket and spacer tolerances' },
  spindleTiltRad: {
    value: 0.001,
    unit: 'rad',
    source: 'assumed',
    reason: 'spindle housing against a pressed shell',
  },
  bendMm: {
    value: 1.0,
    unit: 'mm',
    source: 'assumed',
    reason: 'used blades: half the difference of the ends',
  },
  shaftMm: { value: 0.3, unit: 'mm', source: 'assumed', reason: 'hub face and shaft of a used spindle' },
  seatingHeightMm: {
    value: 0.15,
    unit: 'mm',
    source: 'assumed',
    reason: 'deck pressed down twice onto its stop',
  },
  seatingSlopeRad: {
    value: 0.0003,
    unit: 'rad',
    source: 'assumed',
    reason: 'the same, about 0.15 mm over 500 mm',
  },
  headingDeg: { value: 4, unit: 'deg', source: 'assumed', reason: 'blade pointed by eye, each time anew' },
  headingHabitDeg: {
    value: 3,
    unit: 'deg',
    source: 'assumed',
    reason:
      'the same eye from the same place sees every blade off to the same side; 5 degrees together with the above',
  },
} as const satisfies Record<string, Width>;

/** Of an unsurveyed floor; a surveyed one shows its own. Counts by how far the laser spot lies from the tip. */
export const FLOOR_SLOPE: Width = {
  value: 0.002,
  unit: 'rad',
  source: 'assumed',
  reason: 'fall of a shop floor that looks level, along each axis; one that is drained must be surveyed',
};

export type WidthName = keyof typeof ASSUMED_WIDTHS;

/**
 * The plain numbers that the solver takes, all standard deviations multiplied by `factor` (1 for the result, 2 to see what
 * rests on them). `heightReferenceMm` is the height at which the fixture was checked, from which gain counts.
 */
export function widthValues(heightReferenceMm: number, factor = 1): Widths {
  const entries = Object.entries(ASSUMED_WIDTHS).map(([name, width]) => [
    name,
    name === 'floorLengthMm' ? width.value : width.value * factor,
  ]);
  return {
    ...(Object.fromEntries(entries) as Record<WidthName, number>),
    floorSlopeRad: FLOOR_SLOPE.value * factor,
    heightReferenceMm,
  };
}

/**
 * Widths after an accepted study: it says how alike two clampings of one technician are; what technicians differ by is the
 * same for all clampings of a job and so adds to the offset.
 */
export function afterStudy(widths: Widths, study: PlacementStudy | undefined): Widths {
  if (study === undefined) return widths;
  const { placementMm, technicianSdMm } = study;
  return { ...widths, placementMm, offsetMm: Math.sqrt(widths.offsetMm ** 2 + technicianSdMm ** 2) };
}
