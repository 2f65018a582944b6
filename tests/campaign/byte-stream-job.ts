/** A machine of the campaign through everything: firmware in its Lua machine, serial stream, link, ledger, conductor. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openSimulatedBay } from '../../host/cli/simulated-bay';
import { conductJob } from '../../host/conduct/conduct';
import { openJob } from '../../host/conduct/open-job';
import { openLedger } from '../../host/ledger/ledger';
import { openLink } from '../../host/link';
import { IN_A_HURRY } from '../../host/simulation/population';
import { assess } from '../../host/procedure/assess';
import { apply, currentSetting, type JobState } from '../../host/procedure/state';
import type { DirectJob, SolvedStage } from './direct-job';
import type { Machine } from './population';
import { surveyedBay } from './surveyed-bay';

export async function byteStreamJob(machine: Machine, sequence: 'quick' | 'full'): Promise<DirectJob> {
  const { profile, seed, survey } = machine;
  const folder = mkdtempSync(join(tmpdir(), 'swathplane-campaign-'));
  const ledger = openLedger(join(folder, 'bay.swathplane-log'), {
    writer: 'campaign',
    now: () => new Date('2026-11-25T12:00:00Z'),
  });
  const bay = await openSimulatedBay({
    seed,
    profile,
    population: { ...machine.shop, ...IN_A_HURRY },
    faults: [...machine.wear, ...machine.faults],
    fixtureId: 'SIM-C',
  });
  const truths: Record<string, number>[] = [];
  try {
    const details = {
      use: 'levelling' as const,
      profile,
      serialNumber: 'INVENTED',
      workOrder: '',
      technician: '',
      simulated: true,
      sequence,
    };
    const job = openJob(ledger, details);
    if (survey !== undefined)
      ledger.append({ type: 'bay chosen', job, ...surveyedBay(profile, bay.shop.floor, survey, seed) });
    const state = await conductJob({
      ledger,
      job,
      hands: bay.hands,
      screen: {
        task: () => {},
        live: () => {},
        captured: () => {},
        assessed: () =>
          truths.push(
            Object.fromEntries(profile.measures.map((m) => [m.name, bay.shop.trueMeasureMm(m.name)])),
          ),
        notice: () => {},
      },
      openLinks: [
        (given) => openLink({ ...given, open: () => bay.fixture.openPort(), name: 'simulated port' }),
      ],
    });
    const events = ledger.events(job).map((e) => e.event);
    return { state, shop: bay.shop, stages: stagesOf(events, truths), events };
  } finally {
    bay.close();
    ledger.close();
    rmSync(folder, { recursive: true });
  }
}

/** The log once more from its beginning: what was solved whenever a result was written down. */
function stagesOf(events: DirectJob['events'], truths: readonly Record<string, number>[]): SolvedStage[] {
  let state: JobState | undefined;
  const stages: SolvedStage[] = [];
  for (const event of events) {
    const before = state;
    state = apply(state, event);
    const setting = before === undefined ? undefined : currentSetting(before);
    if (event.type !== 'assessed' || before === undefined || setting === undefined) continue;
    stages.push({
      stage: setting.stage,
      setting: before.settings.length,
      assessment: assess(before, setting),
      trueMm: truths[stages.length] ?? {},
    });
  }
  return stages;
}
