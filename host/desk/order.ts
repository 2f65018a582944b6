/** What a screen says to have a job opened. */
import { z } from 'zod';
import { openJobInBay, type JobDetails, type JobPlace } from '../conduct/open-job';
import { signedIn } from '../conduct/people-in-log';
import { numberedError } from '../errors/errors';
import type { Ledger } from '../ledger/ledger';
import { profileAtHeight } from '../machines/at-height';
import { checklistFor, type Checklist } from '../machines/checklist';
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

/** How this shop measures, whatever the job. */
export interface ShopSettings extends Pick<JobPlace, 'plate'>, Pick<JobDetails, 'readingCosts'> {
  /** Its own list of things to look at. */
  readonly checklist?: Checklist;
}

/** Opens the job in the log, with what shop, bay, instruments and the machine before it say. Throws 303, 305, 410. */
export function openOrder(
  ledger: Ledger,
  order: JobOrder,
  at: {
    readonly bay: string;
    readonly simulated: boolean;
    readonly shop: ShopSettings;
    readonly before: JobState | undefined;
  },
): number {
  const { use, serialNumber, workOrder, sequence, heightMm, rulerMm } = order;
  const listed = machinesOnShelf(ledger.path).find((m) => m.model === order.model);
  if (listed === undefined) throw numberedError('no such machine', `'${order.model}'`);
  const { before } = at;
  const carries = order.batch === true && before !== undefined && before.profile.model === order.model;
  const { checklist, plate, readingCosts } = at.shop;
  const details = {
    use,
    profile: profileAtHeight(listed, heightMm ?? listed.cutHeightMm),
    serialNumber,
    workOrder,
    ...signedIn(ledger, order),
    simulated: at.simulated,
    ...(sequence === undefined ? {} : { sequence }),
    ...(readingCosts === undefined ? {} : { readingCosts }),
    ...checklistFor(checklist, use),
    ...(carries ? { carried: carriedFrom(before) } : {}),
  };
  const place = {
    bay: at.bay,
    ...(plate === undefined ? {} : { plate }),
    ...(rulerMm === undefined ? {} : { rulerMm }),
  };
  return openJobInBay(ledger, details, place).job;
}
