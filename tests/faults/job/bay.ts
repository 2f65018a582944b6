/** A simulated bay in a hurry, and a job in it, for hurting. Everything is the real thing but floor, machine and technician. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openSimulatedBay, type SimulatedBay } from '../../../host/cli/simulated-bay';
import type { Ways } from '../../../host/cli/simulated-work';
import { conductJob } from '../../../host/conduct/conduct';
import { openJob } from '../../../host/conduct/open-job';
import type { Hands, Screen } from '../../../host/conduct/hands';
import { openLedger, type Ledger } from '../../../host/ledger/ledger';
import { openLink } from '../../../host/link';
import type { Use } from '../../../host/ledger/events';
import { loadProfile } from '../../../host/machines/load';
import type { JobState } from '../../../host/procedure/state';
import { IN_A_HURRY, type Fault, type Population } from '../../../host/simulation/population';

export interface Trial {
  readonly bay: SimulatedBay;
  readonly path: string;
  readonly job: number;
  readonly notices: string[];
  /** Opens the log, works the job with these hands until it ends or fails, and closes the log. */
  work(hands?: (bay: SimulatedBay) => Hands, bytesMax?: number): Promise<JobState>;
  close(): void;
}

export interface TrialOptions {
  readonly use?: Use;
  readonly machine?: string;
  readonly population?: Partial<Population>;
  readonly faults?: readonly Fault[];
  readonly ways?: Ways;
}

export async function openTrial(seed: number, options: TrialOptions = {}): Promise<Trial> {
  const { use = 'levelling', machine = 'pimwick-76', population, faults = [], ways = {} } = options;
  const profile = loadProfile(machine);
  const path = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
  const bay = await openSimulatedBay({
    ...{ seed, profile, faults, ways },
    population: { ...IN_A_HURRY, ...population },
    fixtureId: 'SIM-T',
  });
  const notices: string[] = [];
  const open = (bytesMax?: number): Ledger =>
    openLedger(path, {
      writer: 'trial',
      now: () => new Date(),
      ...(bytesMax === undefined ? {} : { bytesMax }),
    });
  const ledger = open();
  const job = openJob(ledger, {
    use,
    profile,
    serialNumber: 'INVENTED',
    workOrder: '',
    technician: '',
    simulated: true,
  });
  ledger.close();
  const screen: Screen = {
    task: () => {},
    live: () => {},
    captured: () => {},
    assessed: () => {},
    notice: (text) => notices.push(text),
  };
  return {
    bay,
    path,
    job,
    notices,
    work: async (hands = (b) => b.hands, bytesMax) => {
      const log = open(bytesMax);
      try {
        return await conductJob({
          ledger: log,
          job,
          hands: hands(bay),
          screen,
          openLinks: [
            (given) =>
              openLink({
                ...given,
                open: () => bay.fixture.openPort(),
                name: 'simulated port',
                timing: { backoffMsMin: 20, backoffMsMax: 50 },
              }),
          ],
        });
      } finally {
        log.close();
      }
    },
    close: () => bay.close(),
  };
}

/** Hands that do something nasty once, just before the n-th reading is triggered. */
export function nastyAt(reading: number, nasty: (bay: SimulatedBay) => void): (bay: SimulatedBay) => Hands {
  let count = 0;
  return (bay) => ({
    answer: (question) => bay.hands.answer(question),
    read: async (task, fixture, over) => {
      count += 1;
      if (count === reading) nasty(bay);
      await bay.hands.read(task, fixture, over);
    },
  });
}
