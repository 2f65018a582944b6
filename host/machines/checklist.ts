/**
 * A shop's own list of what has to be looked at: torques, pressures, interlocks. The schema is the one typed source, as
 * for machine profiles.
 */
import { z } from 'zod';
import { numberedError } from '../errors/errors';
import { readJson } from '../errors/json-fault';
import { formFaults } from './form-faults';

const USES = ['inspection', 'levelling', 'diagnosis', 'warranty'] as const;

const text = z.string().min(1).max(300);

/** One thing to look at: answered yes or no, by a number with limits, by one of several words, or by a note. */
export const itemSchema = z.strictObject({
  id: z.string().regex(/^[a-z0-9-]+$/),
  text,
  number: z
    .strictObject({ unit: z.string().min(1).max(60), lower: z.number(), upper: z.number() })
    .optional(),
  /** The words to choose from, and those among them that stand against a pass. */
  choice: z.strictObject({ of: z.array(text).min(2).max(9), notGood: z.array(text) }).optional(),
  /** Anything that is noted will do. */
  note: z.literal(true).optional(),
  /** Measuring does not start before this is in order. */
  gate: z.boolean().optional(),
});

export const checklistSchema = z.strictObject({
  format: z.literal('swathplane-checklist/1'),
  name: text,
  /** Left out: for every use. */
  uses: z.array(z.enum(USES)).min(1).optional(),
  beforeMeasuring: z.array(itemSchema),
  beforeDelivery: z.array(itemSchema),
});

type Use = (typeof USES)[number];
export type Item = z.infer<typeof itemSchema>;
export type Checklist = z.infer<typeof checklistSchema>;

/**
 * The checklist written in `content`; `source` says in errors where it comes from. Throws 311 (not JSON, or not in the
 * documented form) and 312 (two items of one name, limits the wrong way round).
 */
export function parseChecklist(content: string, source: string): Checklist {
  const data = readJson(content, source, 'checklist unreadable');
  const checked = checklistSchema.safeParse(data);
  if (!checked.success)
    throw numberedError(
      'checklist unreadable',
      `${source}: ${formFaults(checked.error, data, 'a checklist').join('; ')}`,
    );
  const faults = contradictionsOf(checked.data);
  if (faults.length > 0) throw numberedError('checklist contradictory', `${source}: ${faults.join('; ')}`);
  return checked.data;
}

/** The list where it is meant for this use. */
export function checklistFor(list: Checklist | undefined, use: Use): { checklist?: Checklist } {
  return list === undefined || list.uses?.includes(use) === false ? {} : { checklist: list };
}

/** The form of a checklist as JSON Schema draft-07, for editors. */
export function checklistJsonSchema(): object {
  return z.toJSONSchema(checklistSchema, { target: 'draft-7' });
}

function contradictionsOf({ beforeMeasuring, beforeDelivery }: Checklist): string[] {
  const items = [...beforeMeasuring, ...beforeDelivery];
  const faults: string[] = [];
  for (const [i, { id, number, choice, note }] of items.entries()) {
    if (items.findIndex((other) => other.id === id) !== i) faults.push(`two items are called '${id}'`);
    if (number !== undefined && number.lower > number.upper)
      faults.push(`${id}: the lower limit ${number.lower} is above the upper one ${number.upper}`);
    if ([number, choice, note].filter((kind) => kind !== undefined).length > 1)
      faults.push(`${id}: a number, a choice or a note, but not two of them`);
    for (const word of choice?.notGood ?? [])
      if (!choice?.of.includes(word)) faults.push(`${id}: '${word}' is none of the words to choose from`);
  }
  return faults;
}
