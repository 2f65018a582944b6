/**
 * A machine profile: all that the tool must know of one model. The schema is the one typed source: the type, the
 * validation and the published JSON schema come from it.
 *
 * Frame after ISO 8855: x forward, y left, z up, origin on the ground midway between the drive wheels. Headings count
 * counter-clockwise seen from above, 0 forward, 90 left. Left and right are as seated.
 */
import { z } from 'zod';
import { itemSchema } from './checklist';

const name = z.string().min(1).max(60);
const mm = z.number().min(-5000).max(5000);
const headingDeg = z.number().min(-180).max(180);

const wheel = z.strictObject({
  name,
  xMm: mm,
  yMm: mm,
  /** Share of the machine's weight on this wheel, loaded as it mows; all wheels or none, together 1. */
  loadShare: z.number().gt(0).lt(1).optional(),
});

const spindle = z.strictObject({
  name,
  xMm: mm,
  yMm: mm,
  /** Radius of the circle that the blade tip runs on. */
  tipRadiusMm: z.number().min(100).max(1000),
  /** Seen from above. */
  rotation: z.enum(['clockwise', 'counter-clockwise']),
  /** Headings that the fixture cannot reach, from and to counter-clockwise. */
  blockedArcsDeg: z.array(z.tuple([headingDeg, headingDeg])),
  /** The upper blade of a stacked cross is listed like a spindle of its own, so far above the lower one's tip circle. */
  stackedOn: z.strictObject({ spindle: name, aboveMm: z.number().gt(0).max(100) }).optional(),
  /** On a timed deck: where this blade's end A points while the ends A of those at 0 point forward. */
  timedOffsetDeg: headingDeg.optional(),
});

/** What carries the deck at one place: a hanger, an arm, a rod or a wheel. */
const hanger = z.strictObject({
  name,
  xMm: mm,
  yMm: mm,
  /**
   * `hangs`: chain, link or lift arm, carries in one direction and can go slack. `stands`: a wheel under the deck, carries
   * from below and can leave the floor. `holds`: a rod or a pinned arm, carries both ways. Left out: hangs.
   */
  kind: z.enum(['hangs', 'stands', 'holds']).optional(),
});

/** What one turn does at another height setting: links and rods change their leverage with it. */
const ratioAtHeight = z.strictObject({
  cutHeightMm: z.number().min(15).max(150),
  mmPerTurn: z.number().gt(0).max(50),
});

const adjuster = z.strictObject({
  name,
  /** Where mmPerTurn comes from: thread and lever, or a measurement. */
  source: name.optional(),
  /** What one turn in the raising sense does; a pair or a bell-crank moves several hangers. */
  moves: z
    .array(
      z.strictObject({
        hanger: name,
        /** At the profile's cut height. */
        mmPerTurn: z.number().gt(0).max(50),
        /** Where the ratio depends on the height setting: at two settings or more, straight lines between. */
        atHeights: z.array(ratioAtHeight).min(2).optional(),
      }),
    )
    .min(1),
  /** Relative standard uncertainty of mmPerTurn. */
  ratioUncertainty: z.number().gt(0).max(1),
  /** Which way raises the deck, and from where that is seen. */
  raises: z.strictObject({
    rotation: z.enum(['clockwise', 'counter-clockwise']),
    seenFrom: z.enum(['above', 'below', 'the front', 'the rear', 'the left', 'the right']),
  }),
  /** Turns left for lowering (negative or zero) and for raising. */
  travelTurns: z.tuple([z.number().max(0), z.number().min(0)]),
  /** Smallest step that a technician sets, in turns: 1/6 for one flat of a hexagon nut. */
  stepTurns: z.number().gt(0).max(1),
});

const limits = {
  /** Value that is aimed at, and the limits, in mm. */
  targetMm: z.number(),
  lowerMm: z.number(),
  upperMm: z.number(),
  /** Where the limits come from; `shop limit` where no document gives them. */
  source: name,
};

const measure = z.discriminatedUnion('what', [
  z.strictObject({
    /** A weighted sum of tip heights whose weights add up to 0 (level, rake) or to 1 (cut height). */
    what: z.literal('tips'),
    name,
    terms: z.array(z.strictObject({ spindle: name, headingDeg, weight: z.number() })).min(1),
    /** Distance between the places compared, for showing a slope; 0 for a height. */
    spanMm: z.number().min(0),
    ...limits,
  }),
  z.strictObject({
    /** Height of end A above end B at the same heading. */
    what: z.literal('bend'),
    name,
    spindle: name,
    ...limits,
  }),
]);

/** Standard deviations of what was taken with a tape, per coordinate. Left out of a profile: the geometry is the maker's. */
const tapeUncertainty = z.strictObject({
  spindleMm: z.number().min(0).max(50),
  tipRadiusMm: z.number().min(0).max(50),
  wheelMm: z.number().min(0).max(50),
  hangerMm: z.number().min(0).max(200),
});

const skirtEdge = z.strictObject({
  side: z.enum(['left', 'right', 'rear', 'front']),
  /** From one end of the edge to the other; height of the edge above the plane of the blade tips. */
  points: z.array(z.strictObject({ xMm: mm, yMm: mm, aboveTipsMm: z.number().min(-150).max(150) })).min(2),
});

export const FAMILIES = [
  'mid-mount hung',
  'front rod with rear lift arms',
  'floating with gauge wheels',
  'out-front',
  'walk-behind',
  'stand-on',
] as const;

export const profileSchema = z.strictObject({
  format: z.literal('swathplane-machine/1'),
  model: name,
  /** True for machines that exist only in our examples. */
  invented: z.boolean(),
  family: z.enum(FAMILIES),
  groundPlane: z.enum(['pivoting front axle', 'rigid four wheels', 'three wheels']),
  wheels: z.array(wheel).min(3).max(4),
  bladeKind: z.enum(['straight', 'dropped tip', 'mulching', 'stacked cross', 'swing']),
  spindles: z.array(spindle).min(1).max(7),
  hangers: z.array(hanger).min(3).max(6),
  /** True where a belt couples the blades: they share one crank angle, turn together, and are never forced. */
  timedDeck: z.boolean().optional(),
  /** Where the hung deck's weight acts. */
  centreOfGravity: z.strictObject({ xMm: mm, yMm: mm }),
  adjusters: z.array(adjuster).min(1).max(6),
  /** Cut height that the owner uses most. */
  cutHeightMm: z.number().min(15).max(150),
  measures: z.array(measure).min(1),
  /** Standard deviations of the geometry above, where it was taken from outside with a tape. */
  uncertaintyMm: tapeUncertainty.optional(),
  /** How far one pass overlaps the next. */
  passOverlapMm: z.number().min(0).max(500).optional(),
  /** Lower edge of the shell, side by side. */
  skirt: z.array(skirtEdge).min(1).optional(),
  preparation: z.array(itemSchema),
});

export type MachineProfile = z.infer<typeof profileSchema>;
export type Family = MachineProfile['family'];
export type Measure = MachineProfile['measures'][number];
