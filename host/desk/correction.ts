/** What a screen says to have a job's record put right: each makes one event, and nothing that was written is changed. */
import { z } from 'zod';
import type { JobEvent } from '../ledger/events';

const name = z.string().trim().min(1).max(200);
const text = z.string().max(2000);
const which = { fixtureId: z.string().max(200), capture: z.number().int() };

export const correctionSchema = z.discriminatedUnion('what', [
  z.strictObject({ what: z.literal('set aside'), ...which, reason: name }),
  z.strictObject({ what: z.literal('restored'), ...which, reason: name }),
  z.strictObject({
    what: z.literal('tip corrected'),
    ...which,
    spindle: name,
    headingDeg: z.number().min(-180).max(360),
    end: z.enum(['A', 'B']),
  }),
  z.strictObject({ what: z.literal('turn corrected'), adjuster: name, turns: z.number().min(-99).max(99) }),
  z.strictObject({
    what: z.literal('prepared'),
    item: name,
    answer: z.union([
      z.enum(['yes', 'no', 'not on this machine']),
      z.number(),
      z.strictObject({ chosen: text }),
      z.strictObject({ noted: text }),
    ]),
  }),
  z.strictObject({
    what: z.literal('claim stated'),
    field: z.enum(['complaint', 'hour meter', 'delivered on', 'cause', 'correction', 'parts']),
    text,
  }),
  z.strictObject({ what: z.literal('handed over'), to: name }),
  z.strictObject({
    what: z.literal('fixture accounted for'),
    fixtureId: name,
    by: name,
    reason: name,
  }),
  z.strictObject({ what: z.literal('given up'), reason: name }),
  z.strictObject({
    what: z.literal('job reopened'),
    by: name,
    reason: name,
    toReadAgain: z.literal(true).optional(),
  }),
]);

export type Correction = z.infer<typeof correctionSchema>;

export function correctionEvent(job: number, { what, ...said }: Correction): JobEvent {
  return { type: what, job, ...said } as JobEvent;
}
