/** What the invented machine of each use comes with, so that each path shows what it is for. */
import type { Use } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import type { Fault, Population } from '../simulation/population';
import type { Ways } from './simulated-work';

/** More goes wrong here than in a careful shop, so that it can be seen how it is dealt with. */
export const DEMO_SHOP = { knockProbability: 0.02, tightenShiftSdMm: 0.2 };

export interface Story {
  readonly population: Partial<Population>;
  readonly faults: (profile: MachineProfile) => readonly Fault[];
  readonly ways: Ways;
}

const first = (profile: MachineProfile) => profile.spindles[0]?.name ?? '';

export const STORIES: Record<Use, Story> = {
  // As it left the factory: nearly right, blades new.
  inspection: { population: { hangerErrorSdMm: 0.3, bendSdMm: 0.2 }, faults: () => [], ways: {} },
  levelling: { population: {}, faults: () => [], ways: {} },
  // Met a stone.
  diagnosis: {
    population: { hangerErrorSdMm: 0.5 },
    faults: (profile) => [{ kind: 'bent shaft', spindle: first(profile), differenceMm: 7 }],
    ways: {},
  },
  // Came with its owner's complaint; the technician turns by the live height.
  warranty: {
    population: { hangerErrorSdMm: 2 },
    faults: (profile) => [{ kind: 'bent blade', spindle: first(profile), differenceMm: 6 }],
    ways: { live: true },
  },
};
