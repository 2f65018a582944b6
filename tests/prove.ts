/** `npm run prove -- NAME`: a proof at full size. Prints its result and writes it to tests/proofs/NAME.txt, which is committed. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { bayCampaign, bayText } from './campaign/bay';
import { dailyCheckCampaign, dailyCheckText } from './campaign/daily-check';
import { faultCampaign, faultText } from './campaign/faults';
import { campaignText, levellingCampaign } from './campaign/levelling';
import { liveCampaign, liveText } from './campaign/live-turning';
import { sequencesText } from './campaign/sequences';
import { turningCampaign, turningText } from './campaign/turning';
import { turnRoundCampaign, turnRoundText } from './campaign/turn-round';
import { manyWriters, manyWritersText } from './copies/many-writers';
import { deskWalkText, walkAtDesk } from './faults/desk/desk-walk';
import { killCampaign, killText } from './faults/kills/kills';
import { storeFigures, storeText } from './store/store';
import { dayText } from './emulator/day';
import { jobsText } from './emulator/jobs';
import { powerCutText } from './emulator/power-cuts';
import { hourText } from './page/hour';
import { unseenMachines, unseenText } from './campaign/unseen';
import { walk, walkText } from './campaign/walks';

const SEED = 1;

const proofs: Record<string, () => string[] | Promise<string[]>> = {
  /** What a survey, a survey that the floor has left behind, and a turn-round are worth. */
  bay: () => [
    ...[600, 1500].flatMap((staleAlikeMm) => [
      `Stale: the floor has moved since by 1.5 mm (sd), alike over ${staleAlikeMm} mm`,
      ...bayText(bayCampaign({ jobs: 5000, seed: SEED, population: { hangerErrorSdMm: 1.5 }, staleAlikeMm })),
      '',
    ]),
    ...turnRoundText(turnRoundCampaign({ jobs: 1500, seed: SEED })),
  ],
  /** The image, its power cut at every byte that a capture, an acknowledgement and a calibration store. */
  'board-cuts': powerCutText,
  /** Whole jobs of 200 captures on the image: the most that its heap ever holds, and whether it grows. */
  'board-jobs': jobsText,
  /** A day of the image at rest. */
  'board-day': dayText,
  /** 10,000 machines through the whole procedure in two processes, the hand method beside it; pictures in a folder. */
  campaign: () =>
    printedBy(
      'tests/campaign/run.ts',
      ...['--machines', '10000', '--seed', String(SEED), '--out', 'tests/proofs/campaign'],
    ),
  /** 8 bays write 1,000 captures each into one database whose server is restarted twice meanwhile. */
  copies: async () => manyWritersText(await manyWriters(8, 1000, true)),
  /** A quarter of an hour of doing anything that a screen lets one do, and more. */
  desk: async () => deskWalkText(await walkAtDesk({ minutes: 15, seed: SEED })),
  /** How soon a drifting fixture is seen, and how often a good one is stopped, on a clean and on a worn height master. */
  'daily-check': () =>
    [0.02, 0.04].flatMap((seatSdMm) =>
      dailyCheckText(dailyCheckCampaign({ runs: 1000, seed: SEED, driftMm: 0.2, seatSdMm })),
    ),
  /** 40 machines of each layout for each kind of fault, and 40 good ones. */
  faults: () =>
    (
      [
        { population: 'careful', sequence: 'full' },
        { population: 'mismatched', sequence: 'full' },
        { population: 'careful', sequence: 'quick' },
      ] as const
    ).flatMap((how) => [...faultText(faultCampaign({ jobs: 40, seed: SEED, ...how }), how), '']),
  /** 5,000 jobs for each width of the ratios: coverage to 1 % needs that many. */
  levelling: () =>
    [0.03, 0.1].flatMap((ratioSd) =>
      campaignText(levellingCampaign({ jobs: 5000, seed: SEED, ratioSd }), ratioSd),
    ),
  /** An hour of live heights into one screen. */
  'page-hour': () => hourText(),
  /** How long measuring takes beside the least that decides; inspections of good machines. */
  sequences: () =>
    sequencesText(SEED, 1000, ['pimwick-76', 'orrinshaw-106', 'quellbeck-133', 'thrushmoor-248']),
  /** How soon turning is right: a new model, the same model after 20 jobs, live. */
  turning: () => [
    ...[0, 20].flatMap((pastJobs) =>
      turningText(
        pastJobs === 0
          ? 'A model whose ratios are 10 % (sd) off what its profile says, never met before'
          : `The same after ${pastJobs} jobs on other machines of the model, which differ by 2 % (sd)`,
        turningCampaign({ jobs: 1500, seed: SEED, ratioSd: 0.1, pastJobs }),
      ),
    ),
    ...liveText(
      'Live turning: every ratio 25 % (sd) off, hangers that stick by up to 0.4 mm, play of the threads; faults that the travel can mend',
      liveCampaign({ jobs: 1500, seed: SEED, ratioSd: 0.25, frictionMm: 0.4 }),
    ),
  ],
  /** `swathplane job` killed 200 times in the middle of readings. */
  kills: async () => killText(await killCampaign({ kills: 200, seed: SEED })),
  /** Every byte of an exported job, in two processes. */
  flips: () => printedBy('tests/store/flip-every-byte.ts'),
  /** A million events: search, opening a job, appending. */
  store: () => storeText(storeFigures(1_000_000)),
  /** Machines known from a tape, and what happens when a tape's geometry is taken for the maker's. */
  unseen: () =>
    [
      { offMm: 10, saidMm: 10 },
      { offMm: 40, saidMm: 40 },
      { offMm: 40, saidMm: undefined },
    ].map((how) => {
      const options = { jobs: 1800, seed: SEED, ...how };
      return unseenText(options, unseenMachines(options));
    }),
  /** Whatever a technician does, the procedure goes on, loses nothing and closes nothing with a fixture on a blade. */
  walks: () => walkText(walk({ steps: 100_000, seed: SEED })),
};

/** What a program of the tests prints that works in processes of its own. */
function printedBy(...program: readonly string[]): string[] {
  return execFileSync(process.execPath, ['host/run.mjs', ...program], {
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'inherit'],
  })
    .trimEnd()
    .split('\n');
}

const name = process.argv[2] ?? '';
const proof = proofs[name];
if (proof === undefined) {
  console.error(`no proof is called '${name}'; there are: ${Object.keys(proofs).join(', ')}`);
  process.exitCode = 3;
} else {
  const git = (...args: string[]) => execFileSync('git', args, { encoding: 'utf8' }).trim();
  const changed = git('status', '--porcelain') === '' ? '' : ', with uncommitted changes';
  const commit = git('rev-parse', '--short', 'HEAD');
  const started = performance.now();
  const lines = await proof();
  const minutes = ((performance.now() - started) / 60_000).toFixed(1);
  const head = [
    `npm run prove -- ${name}`,
    `commit ${commit}${changed}, seed ${SEED}, Node ${process.versions.node}, ${cpus().length} cores ${process.arch}, ${minutes} min`,
    '',
  ];
  const text = `${[...head, ...lines].join('\n')}\n`;
  mkdirSync('tests/proofs', { recursive: true });
  writeFileSync(`tests/proofs/${name}.txt`, text);
  console.log(text);
}
