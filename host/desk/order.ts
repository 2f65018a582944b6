/** What a screen says to have a job opened. */
import { z } from 'zod';
import { chooseBay } from '../conduct/bay-in-log';
import { openJob } from '../conduct/conduct';
import { noteInstruments } from '../conduct/gauging-in-log';
import { signedIn } from '../conduct/people-in-log';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import type { Ledger } from '../ledger/ledger';
import { profileAtHeight } from '../machines/at-height';
import { machinesOnShelf } from '../machines/shelf';
import { carriedFrom } from '../procedure/preparation';
import type { JobState } from '../procedure/state';

const typed = z.string().max(200);

export const orderSchema = z.strictObject({
  use: z.enum(['inspection', 'levelling', 'diagnosis', 'warranty']),
  /** Model of a machine on the shelf. */
  model: typed,
  /** Where it is levelled at another height than its profile's. */
  heightMm: z.number().min(15).max(150).optional(),
  serialNumber: typed,
  workOrder: typed,
  technician: typed,
  /** In place of the name: a registered badge or PIN. */
  badge: typed.optional(),
  /** One machine of the model after the other. */
  batch: z.boolean().optional(),
  sequence: z.enum(['quick', 'full']).optional(),
  /** No fixture is to be had: heights are read with a ruler, to this U (k = 2). */
  rulerMm: z.number().gt(0).max(10).optional(),
});

export type JobOrder = z.infer<typeof orderSchema>;

/** Opens the job in the log, with what bay, instruments and the machine before it say. Throws 303, 305, 410. */
export function openOrder(
  ledger: Ledger,
  order: JobOrder,
  at: { readonly bay: string; readonly simulated: boolean; readonly before: JobState | undefined },
): number {
  const { use, serialNumber, workOrder, sequence, heightMm, rulerMm } = order;
  const listed = machinesOnShelf(ledger.path).find((m) => m.model === order.model);
  if (listed === undefined) throw numberedError('no such machine', `'${order.model}'`);
  const { before } = at;
  const carries = order.batch === true && before !== undefined && before.profile.model === order.model;
  const job = openJob(ledger, {
    use,
    profile: profileAtHeight(listed, heightMm ?? listed.cutHeightMm),
    serialNumber,
    workOrder,
    ...signedIn(ledger, order),
    simulated: at.simulated,
    ...(sequence === undefined ? {} : { sequence }),
    ...(carries ? { carried: carriedFrom(before) } : {}),
  });
  const on = today();
  chooseBay(ledger, job, at.bay, on);
  noteInstruments(ledger, job, on);
  if (rulerMm !== undefined) ledger.append({ type: 'ruler taken up', job, expandedMm: rulerMm });
  return job;
}
