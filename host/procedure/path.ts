/** What the four uses have in common is the procedure; this table is all that tells them apart. */
import type { ClaimField, Use } from '../ledger/events';
import type { JobState } from './state';

export interface Path {
  /** Which tips are read of the machine as it came. */
  readonly arrival: 'quick' | 'full';
  /** Hangers are felt and adjusters turned. */
  readonly levels: boolean;
  /** Tests that tell two parts apart are asked for, and what becomes of a part at fault. */
  readonly tests: boolean;
  /** What is asked besides, before measuring and before the job is closed. */
  readonly claimFirst: readonly ClaimField[];
  readonly claimLast: readonly ClaimField[];
}

export const PATHS: Record<Use, Path> = {
  inspection: { arrival: 'quick', levels: false, tests: false, claimFirst: [], claimLast: [] },
  levelling: { arrival: 'quick', levels: true, tests: true, claimFirst: [], claimLast: [] },
  diagnosis: { arrival: 'full', levels: false, tests: true, claimFirst: [], claimLast: [] },
  warranty: {
    arrival: 'full',
    levels: true,
    tests: true,
    claimFirst: ['complaint', 'hour meter', 'delivered on'],
    claimLast: ['cause', 'correction', 'parts'],
  },
};

/** The path that a job is on: an inspection or diagnosis goes on as a levelling when the technician says so. */
export function pathOf({ use, levelling }: Pick<JobState, 'use' | 'levelling'>): Path {
  const path = PATHS[use];
  return levelling === 'level it now' ? { ...path, levels: true, tests: true } : path;
}
