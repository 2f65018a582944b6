/** A new job in the log, with what the log knows of the machine, the bay and the instruments. */
import type { BayOfJob } from '../bay/known-floor';
import type { TargetPlate } from '../bay/target-plate';
import type { GaugingKnown } from '../gauging/known';
import type { JobEvent } from '../ledger/events';
import type { Ledger } from '../ledger/ledger';
import { learnedGains } from '../procedure/learning';
import { PATHS } from '../procedure/path';
import { chooseBay } from './bay-in-log';
import { noteInstruments } from './gauging-in-log';
import { today } from './today';

export type JobDetails = Omit<Extract<JobEvent, { type: 'job opened' }>, 'type' | 'job' | 'learned'>;

/**
 * Past jobs that are looked through for what they teach, the newest: of the model, whose mean is known far better by then
 * than one machine keeps to it, and of the machine itself. A technician waits for it, so there are no more.
 */
const JOBS_OF_MODEL = 50;
const JOBS_OF_MACHINE = 10;

/** Opens a job in the ledger, with what the log's past jobs teach of the machine, and gives its number. */
export function openJob(ledger: Ledger, details: JobDetails): number {
  const learned = learnedGains(
    jobsLike(ledger, details).map((job) => ledger.events(job).map((e) => e.event)),
    details,
  );
  const job = ledger.nextJob();
  ledger.append({
    type: 'job opened',
    job,
    sequence: PATHS[details.use].arrival,
    ...details,
    ...casterShim(ledger, details.serialNumber),
    ...(learned === undefined ? {} : { learned }),
  });
  return job;
}

/** In the order opened. Other shops' jobs are not among them. */
function jobsLike(ledger: Ledger, { profile, serialNumber }: JobDetails): number[] {
  const found = [
    ...ledger.search({ model: profile.model, limit: JOBS_OF_MODEL }),
    ...(serialNumber === '' ? [] : ledger.search({ serialNumber, limit: JOBS_OF_MACHINE })),
  ];
  const own = found.filter((entry) => entry.foreign === undefined).map((entry) => entry.job);
  return [...new Set(own)].sort((a, b) => a - b);
}

/** What the newest swing of this machine's casters showed; nothing without a serial number or a check. */
function casterShim(ledger: Ledger, serialNumber: string): { casterShimMm?: number } {
  const swung = ledger
    .shopEvents()
    .findLast((e) => e.type === 'casters swung' && e.serialNumber === serialNumber && serialNumber !== '');
  return swung?.type === 'casters swung' && swung.equalShimMm !== undefined
    ? { casterShimMm: swung.equalShimMm }
    : {};
}

/** Where a job is measured, and by what. */
export interface JobPlace {
  readonly bay: string;
  /** Under the laser spot of every reading. */
  readonly plate?: TargetPlate;
  /** No fixture is to be had: heights are read with a ruler, to this U (k = 2). */
  readonly rulerMm?: number;
}

/** Opens a job where it is measured, and gives what is known of floor and instruments there. */
export function openJobInBay(
  ledger: Ledger,
  details: JobDetails,
  { bay, plate, rulerMm }: JobPlace,
): { readonly job: number; readonly floor: BayOfJob | undefined; readonly instruments: GaugingKnown } {
  const job = openJob(ledger, details);
  const on = today();
  const floor = chooseBay(ledger, job, bay, on);
  const instruments = noteInstruments(ledger, job, on);
  if (rulerMm !== undefined) ledger.append({ type: 'ruler taken up', job, expandedMm: rulerMm });
  else if (plate !== undefined) ledger.append({ type: 'plates laid', job, plate });
  return { job, floor, instruments };
}
