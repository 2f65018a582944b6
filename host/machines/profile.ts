/**
 * A machine profile: all that the tool must know of one model. The schema is the one typed source: the type, the
 * validation and the published JSON schema come from it.
 *
 * Frame after ISO 8855: x forward, y left, z up, origin on the ground midway between the drive wheels. Headings count
 * counter-clockwise seen from above, 0 forward, 90 left. Left and right are as seated.
 */
import { z } from 'zod';

const name = z.string().min(1).max(60);
const mm = z.number().min(-5000).max(5000);
const headingDeg = z.number().min(-180).max(180);

const wheel = z.strictObject({ name, xMm: mm, yMm: mm });

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
});

const hanger = z.strictObject({ name, xMm: mm, yMm: mm });

const adjuster = z.strictObject({
  name,
  /** Where mmPerTurn comes from: thread and lever, or a measurement. */
  source: name.optional(),
  /** What one turn in the raising sense does; a pair or a bell-crank moves several hangers. */
  moves: z.array(z.strictObject({ hanger: name, mmPerTurn: z.number().gt(0).max(50) })).min(1),
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

const preparationItem = z.strictObject({
  id: z.string().regex(/^[a-z0-9-]+$/),
  text: z.string().min(1).max(300),
  /** A number with limits, or a yes. */
  number: z.strictObject({ unit: name, lower: z.number(), upper: z.number() }).optional(),
});

export const profileSchema = z.strictObject({
  format: z.literal('swathplane-machine/1'),
  model: name,
  /** True for machines that exist only in our examples. */
  invented: z.boolean(),
  family: z.enum(['mid-mount hung']),
  groundPlane: z.enum(['pivoting front axle', 'rigid four wheels', 'three wheels']),
  wheels: z.array(wheel).min(3).max(4),
  bladeKind: z.enum(['straight', 'dropped tip', 'mulching', 'stacked cross', 'swing']),
  spindles: z.array(spindle).min(1).max(7),
  hangers: z.array(hanger).min(3).max(6),
  /** Where the hung deck's weight acts. */
  centreOfGravity: z.strictObject({ xMm: mm, yMm: mm }),
  adjusters: z.array(adjuster).min(1).max(6),
  /** Cut height that the owner uses most. */
  cutHeightMm: z.number().min(15).max(150),
  measures: z.array(measure).min(1),
  preparation: z.array(preparationItem),
});

export type MachineProfile = z.infer<typeof profileSchema>;
export type Measure = MachineProfile['measures'][number];
