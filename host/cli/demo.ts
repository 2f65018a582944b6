/** The whole job in a simulated shop: the real firmware behind a real serial stream, an invented machine, a simulated technician. */
import { join } from 'node:path';
import { bayLine } from '../bay/known-floor';
import { chooseBay } from '../conduct/bay-in-log';
import { conductJob, type ConductOptions } from '../conduct/conduct';
import { openJob } from '../conduct/open-job';
import { noteInstruments } from '../conduct/gauging-in-log';
import type { Use } from '../ledger/events';
import { openLedger } from '../ledger/ledger';
import { openLink } from '../link/index';
import { profileAtHeight } from '../machines/at-height';
import { loadProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { asTaped } from '../machines/taped';
import { sheetPdf } from '../report/sheet';
import { trueGeometry } from '../simulation/geometry-error';
import { seededRandom } from '../simulation/random';
import type { Shop } from '../simulation/shop';
import { columns } from '../terminal/stage-text';
import { terminalScreen } from '../terminal/screen';
import type { SheetView } from '../views/sheet-view';
import { durationText, USE_TITLES } from '../views/words';
import { installedSolver } from './installed-solver';
import { makeFolder, print, printJson, writeOut } from './output';
import { viewOf } from './records';
import { openSimulatedBay } from './simulated-bay';
import { fixtureTrustLines } from '../views/gauging-words';
import { today } from '../conduct/today';
import { simulatedCheck } from './simulated-check';
import { simulatedSurvey } from './simulated-survey';
import { DEMO_SHOP, STORIES } from './stories';

export interface DemoOptions {
  readonly use: Use;
  readonly seed: number;
  readonly machine: string;
  /** Cut height that it is levelled at, where not the profile's. */
  readonly height?: number;
  /** The tool knows the geometry from a tape only; the simulated machine is what it is. */
  readonly taped?: boolean;
  readonly folder: string;
  /** The simulated floor is surveyed before the job. */
  readonly surveyed?: boolean;
  readonly json?: boolean;
}

/** Exit code 0 whatever the result of the invented machine: the demo is done when it has shown the job. */
export async function demo(options: DemoOptions): Promise<number> {
  const started = performance.now();
  const profile = machineOf(options);
  makeFolder(options.folder);
  const log = join(options.folder, 'demo.swathplane-log');
  const ledger = openLedger(log, { writer: 'demo bay', now: () => new Date() });
  const bay = await openSimulatedBay({
    seed: options.seed,
    profile: trueGeometry(profile, seededRandom(options.seed).split('tape')),
    population: { ...DEMO_SHOP, ...STORIES[options.use].population },
    faults: STORIES[options.use].faults(profile),
    ways: STORIES[options.use].ways,
    fixtureId: `SIM-${ledger.nextJob()}`,
  });
  const { shop, fixture } = bay;
  const out = options.json === true ? process.stderr : process.stdout;
  const open: ConductOptions['openLinks'][number] = (given) =>
    openLink({ ...given, open: () => fixture.openPort(), name: 'simulated port' });
  try {
    const job = openJob(ledger, {
      use: options.use,
      profile,
      serialNumber: `INVENTED-${options.seed}`,
      workOrder: `DEMO-${options.seed}`,
      technician: 'simulated technician',
      simulated: true,
    });
    out.write(
      `Job ${job}: ${USE_TITLES[options.use].toLowerCase()} of a ${profile.model} (invented machine, simulated shop, seed ${options.seed})\n`,
    );
    await simulatedCheck(ledger, bay, open);
    const { fixtureId } = bay;
    const known = noteInstruments(ledger, job, today());
    out.write(`  Fixture ${fixtureId}: ${fixtureTrustLines(known, fixtureId).join('; ')}\n`);
    if (options.surveyed === true) {
      const on = today();
      const random = seededRandom(options.seed).split('survey');
      const known = {
        ...simulatedSurvey(profile, shop.floor, on, random),
        name: `simulated bay ${options.seed}`,
      };
      ledger.appendOfShop({ type: 'bay surveyed', bay: known });
      const chosen = chooseBay(ledger, job, known.name, on);
      for (const sentence of bayLine(chosen, false).sentences) out.write(`  ${sentence}\n`);
    }
    await conductJob({
      solver: installedSolver(),
      ledger,
      job,
      openLinks: [open],
      hands: bay.hands,
      screen: terminalScreen({ write: (text) => void out.write(text), isTerminal: out.isTTY }),
    });
    const view = viewOf(ledger.events(job), job);
    const sheet = join(options.folder, `job-${job}.pdf`);
    writeOut(sheet, await sheetPdf(view));
    const comparison = compare(view, shop);
    const seconds = { wall: (performance.now() - started) / 1000, simulated: fixture.nowUs / 1e6 };
    if (options.json === true) printJson({ job, decision: view.decision, comparison, log, sheet, seconds });
    else print(...ending(job, view, comparison, log, sheet, seconds));
    return 0;
  } finally {
    bay.close();
    ledger.close();
  }
}

function machineOf({ machine, height, taped }: DemoOptions): MachineProfile {
  const profile = loadProfile(machine);
  const set = profileAtHeight(profile, height ?? profile.cutHeightMm);
  return taped === true ? asTaped(set) : set;
}

interface Compared {
  readonly name: string;
  readonly solvedMm: number;
  readonly expandedMm: number;
  readonly trueMm: number;
}

/** What only a simulation can show: the solved values beside the true ones. */
function compare(view: SheetView, shop: Shop): Compared[] {
  const last = view.stages.at(-1);
  return (last?.measures ?? []).map((m) => ({
    name: m.name,
    solvedMm: m.valueMm,
    expandedMm: m.expandedMm,
    trueMm: shop.trueMeasureMm(m.name),
  }));
}

function ending(
  job: number,
  view: SheetView,
  comparison: readonly Compared[],
  log: string,
  sheet: string,
  seconds: { wall: number; simulated: number },
): string[] {
  const rows = comparison.map((c) => {
    const off = Math.abs(c.solvedMm - c.trueMm);
    return [
      c.name,
      `${c.solvedMm.toFixed(2)} ± ${c.expandedMm.toFixed(2)} mm`,
      `${c.trueMm.toFixed(2)} mm`,
      off <= c.expandedMm ? 'within U' : 'beyond U',
    ];
  });
  return [
    '',
    'What only a simulation can show, the truth beside the last set of readings:',
    ...columns([['measure', 'solved ± U (k = 2)', 'true', ''], ...rows]).map((line) => `  ${line}`),
    '',
    `By the cost model: ${durationText(view.labour.modelledSeconds)} for the whole job, of which ${durationText(view.labour.rows.find((r) => r.activity === 'measuring')?.modelledSeconds ?? 0)} measuring.`,
    `${view.readings.length} captures in ${(seconds.simulated / 60).toFixed(0)} min of simulated time, ${seconds.wall.toFixed(1)} s here.`,
    `Record  ${log}`,
    `Sheet   ${sheet}`,
    '',
    'To try next:',
    '  npm start                           (the page, for a screen beside the mower)',
    '  npm run demo -- --use inspection    (or diagnosis, warranty)',
    '  npm run demo -- --seed 3 --machine thrushmoor-248',
    `  npm run swathplane -- records ${job} --log ${log}`,
    `  npm run swathplane -- verify ${log}`,
    '  npm run swathplane -- --help',
  ];
}
