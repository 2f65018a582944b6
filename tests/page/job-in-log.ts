/** A log with a whole job in it: an inspection by the simulated technician in a simulated shop, on a floor that was surveyed. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openSimulatedBay } from '../../host/cli/simulated-bay';
import { simulatedSurvey } from '../../host/cli/simulated-survey';
import { chooseBay } from '../../host/conduct/bay-in-log';
import { conductJob } from '../../host/conduct/conduct';
import { openJob } from '../../host/conduct/open-job';
import { openLedger } from '../../host/ledger/ledger';
import { openLink } from '../../host/link/index';
import { loadProfile } from '../../host/machines/load';
import { seededRandom } from '../../host/simulation/random';

/** The file of the log. */
export async function jobInLog(serialNumber: string): Promise<string> {
  const log = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
  const ledger = openLedger(log, { writer: 'bay 1', now: () => new Date() });
  const profile = loadProfile('dunfallow-116');
  const bay = await openSimulatedBay({ seed: 4, profile, fixtureId: 'SIM-4' });
  const on = new Date().toISOString().slice(0, 10);
  const survey = simulatedSurvey(profile, bay.shop.floor, on, seededRandom(4));
  ledger.appendOfShop({ type: 'bay surveyed', bay: survey });
  const job = openJob(ledger, {
    use: 'inspection',
    profile,
    serialNumber,
    workOrder: 'W-1',
    technician: 'Invented Person',
    simulated: true,
  });
  chooseBay(ledger, job, survey.name, on);
  await conductJob({
    ledger,
    job,
    openLinks: [
      (given) => openLink({ ...given, open: () => bay.fixture.openPort(), name: 'simulated port' }),
    ],
    hands: bay.hands,
    screen: {
      task: () => {},
      live: () => {},
      captured: () => {},
      assessed: () => {},
      notice: () => {},
    },
  });
  bay.close();
  ledger.close();
  return log;
}
