/**
 * A bay: where machines stand to be measured, and what is known of its floor. The schema is the one typed source.
 *
 * The bay's own frame: x along the bay, y to the left, z up, origin and axes by its lines, lengths in mm.
 */
import { z } from 'zod';

const name = z.string().min(1).max(60);
const mm = z.number().min(-20000).max(20000);
const day = z.iso.date();

const point = z.strictObject({
  name,
  xMm: mm,
  yMm: mm,
  /** True for a spot that a wheel stands on. */
  wheel: z.boolean().optional(),
});

const survey = z.strictObject({
  date: day,
  instrument: name,
  surveyor: name.optional(),
  /** Of one staff reading, or of one step of a digital level, k = 2. */
  expandedUncertaintyMm: z.number().gt(0).max(10),
  /** Days for which it counts. */
  expiresDays: z.int().min(1).max(3650).default(180),
  /** Of the sight above the point; readings of one set-up share the instrument's height. */
  staff: z
    .array(z.strictObject({ setUp: z.int().min(0), point: name, readingMm: z.number().min(-5000).max(5000) }))
    .default([]),
  /** Of a digital level walked from point to point, there and back. */
  steps: z.array(z.strictObject({ from: name, to: name, riseMm: z.number().min(-500).max(500) })).default([]),
});

export const baySchema = z.strictObject({
  format: z.literal('swathplane-bay/1'),
  name,
  /** True for bays that exist only in our examples. */
  invented: z.boolean().default(false),
  /** Wheel spots and a grid under the deck. */
  points: z.array(point).min(3).max(120),
  /** Where a machine's origin comes to stand by the bay's lines, and how it then points, with standard deviations. */
  parking: z
    .strictObject({
      xMm: mm.default(0),
      yMm: mm.default(0),
      headingDeg: z.number().min(-360).max(360).default(0),
      positionSdMm: z.number().min(0).max(500).default(20),
      headingSdDeg: z.number().min(0).max(20).default(1),
    })
    .default({ xMm: 0, yMm: 0, headingDeg: 0, positionSdMm: 20, headingSdDeg: 1 }),
  /** Beyond this slope of the wheel spots the bay is not fit for levelling. Common practice, no source: 2 in 100. */
  slopeLimitMmPerM: z.number().gt(0).max(100).default(20),
  /** Height of one wheel spot off the plane of the others that is shimmed. */
  twistLimitMm: z.number().gt(0).max(50).default(3),
  /** Left out: the bay has not been surveyed. */
  survey: survey.optional(),
});

export type Bay = z.infer<typeof baySchema>;
export type BaySurvey = NonNullable<Bay['survey']>;

/** Day as of ISO 8601. */
export type Day = string;
