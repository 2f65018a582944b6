/** What an invented shop did on the morning of a demo: its height master in the register, and the daily check of its fixture. */
import { conductGauging, type OpenSessionLink } from '../conduct/gauging-session';
import { registerInLog } from '../conduct/gauging-in-log';
import { today } from '../conduct/today';
import { checkSteps } from '../gauging/daily-check';
import { daysAfter, heightMasterOf, type Equipment } from '../gauging/equipment';
import { NOMINAL_HEIGHT_MASTER } from '../gauging/height-master';
import type { Ledger } from '../ledger/ledger';
import type { SimulatedBay } from './simulated-bay';

/** Invented, as everything in the demo. */
function inventedMaster(): Equipment {
  return {
    id: 'HM-1 (invented)',
    kind: 'height master',
    certificate: 'INVENTED-1',
    laboratory: 'invented laboratory',
    calibratedOn: daysAfter(today(), -60),
    due: daysAfter(today(), 305),
    expandedUncertainty: 0.06,
    unit: 'mm',
    values: NOMINAL_HEIGHT_MASTER.edges.flatMap((e) => [e.lowMm, e.highMm]),
  };
}

/** Takes the daily check of the shop's fixture into the log, as `swathplane check` does. */
export async function simulatedCheck(ledger: Ledger, bay: SimulatedBay, openLink: OpenSessionLink) {
  const known = registerInLog(ledger).find((e) => e.kind === 'height master');
  const equipment = known ?? inventedMaster();
  if (known === undefined) ledger.appendOfShop({ type: 'equipment registered', equipment, on: today() });
  const nothing = () => {};
  const screen = { task: nothing, live: nothing, captured: nothing, notice: nothing };
  await conductGauging(
    { ledger, openLink, hands: bay.checkHands, screen },
    ({ headPosition }) => ({
      use: 'check',
      on: today(),
      technician: 'simulated technician',
      simulated: true,
      master: heightMasterOf(equipment),
      references: [equipment],
      steps: checkSteps(heightMasterOf(equipment), headPosition),
    }),
    () => Promise.resolve(),
  );
}
