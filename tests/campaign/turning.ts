/**
 * How soon turning brings a machine within its limits in the simulated physics: for a model whose ratios are not as its
 * profile says, and for the same model after jobs on other machines of it have taught them. All distributions are invented.
 */
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import { learnedGains } from '../../host/procedure/learning';
import type { LearnedGains } from '../../host/ledger/events';
import { seededRandom } from '../../host/simulation/random';
import { directJob, type DirectJob, type SolvedStage } from './direct-job';

export interface TurningOptions {
  readonly jobs: number;
  readonly seed: number;
  /** Relative sd of the model's true ratios about the profile's, which the profile states. */
  readonly ratioSd: number;
  /** Past jobs on other machines of the model, all with the same ratios but for the spread. */
  readonly pastJobs: number;
}

export interface TurningFigures {
  /** Jobs that were turned at all. */
  readonly turned: number;
  readonly insideAfterOneRound: number;
  readonly insideAfterTwoRounds: number;
  /** Rounds that the tool asked about although they were done as asked, of all rounds. */
  readonly askedInVain: number;
  readonly rounds: number;
  /** Mean relative error and mean stated uncertainty of the ratios with which the first round was computed. */
  readonly ratioError: number;
  readonly ratioUncertainty: number;
}

/** Machines of one model differ by this share (invented). */
const MACHINE_SPREAD = 0.02;
const HANGER_ERROR_SD_MM = 5;

export function turningCampaign(options: TurningOptions): TurningFigures {
  const { jobs, seed, ratioSd, pastJobs } = options;
  const profiles = listProfiles().filter((p) => p.invented);
  const sum = { turned: 0, one: 0, two: 0, asked: 0, rounds: 0, squares: 0, stated: 0, ratios: 0 };
  // Past jobs are dear: one history serves as many machines of its model.
  const machinesOfAModel = Math.max(1, pastJobs);
  for (let i = 0; sum.turned < jobs && i < 4 * jobs; i += machinesOfAModel) {
    const profile = withUncertainty(profiles[(i / machinesOfAModel) % profiles.length], ratioSd);
    const machine = asBuilt(profile, seed + i, ratioSd);
    const past = Array.from({ length: pastJobs }, (_, k) =>
      directJob(seed + 1_000_000 + i + k, profile, optionsOf(machine, `past ${k}`)),
    );
    const events = past.map((job) => job.events);
    for (let k = 0; k < machinesOfAModel; k += 1) {
      const serialNumber = `machine ${i + k}`;
      const learned = learnedGains(events, { profile, serialNumber, simulated: true });
      const job = directJob(seed + i + k, profile, {
        ...optionsOf(machine, serialNumber),
        ...(learned === undefined ? {} : { learned }),
      });
      count(job, profile, machine, learned, sum);
    }
  }
  return {
    turned: sum.turned,
    insideAfterOneRound: sum.one,
    insideAfterTwoRounds: sum.two,
    askedInVain: sum.asked,
    rounds: sum.rounds,
    ratioError: Math.sqrt(sum.squares / sum.ratios),
    ratioUncertainty: Math.sqrt(sum.stated / sum.ratios),
  };
}

function optionsOf(machine: MachineProfile, serialNumber: string) {
  return { machine, serialNumber, ratioSd: MACHINE_SPREAD, hangerErrorSdMm: HANGER_ERROR_SD_MM };
}

function count(
  job: DirectJob,
  profile: MachineProfile,
  machine: MachineProfile,
  learned: LearnedGains | undefined,
  sum: Record<'turned' | 'one' | 'two' | 'asked' | 'rounds' | 'squares' | 'stated' | 'ratios', number>,
): void {
  const after = job.stages.filter((s) => s.stage === 'after turning');
  // A setting that was read again after one more seating is one round.
  const rounds = job.state.settings.filter((s) => s.stage === 'after turning').length;
  sum.rounds += rounds;
  sum.asked += job.events.filter((e) => e.type === 'turning checked').length;
  profile.adjusters.forEach((adjuster, j) => {
    const known = learned?.adjusters[j] ?? { factor: 1, standardUncertainty: adjuster.ratioUncertainty };
    const moved = adjuster.moves[0]?.hanger ?? '';
    const real = job.shop.trueMmPerTurn(adjuster.name, moved) / (adjuster.moves[0]?.mmPerTurn ?? NaN);
    sum.squares += (known.factor - real) ** 2;
    sum.stated += known.standardUncertainty ** 2;
    sum.ratios += 1;
  });
  const first = after[0];
  if (first === undefined) return;
  sum.turned += 1;
  const inside = isInside(machine, first);
  if (inside) sum.one += 1;
  // What is right after the first round is not turned again, or it is not made worse by it.
  const second = after.filter((s) => s.setting !== first.setting)[0];
  if (second === undefined ? inside : isInside(machine, second)) sum.two += 1;
}

/** Of what turning can mend. */
function isInside(profile: MachineProfile, stage: SolvedStage): boolean {
  return profile.measures
    .filter((m) => m.what === 'tips')
    .every((m) => {
      const truth = stage.trueMm[m.name] ?? NaN;
      return truth >= m.lowerMm && truth <= m.upperMm;
    });
}

function withUncertainty(profile: MachineProfile, ratioUncertainty: number): MachineProfile {
  return { ...profile, adjusters: profile.adjusters.map((a) => ({ ...a, ratioUncertainty })) };
}

/** The model as it was really built: each adjuster's ratio is off by its own factor. */
function asBuilt(profile: MachineProfile, seed: number, ratioSd: number): MachineProfile {
  const random = seededRandom(seed).split('ratios of the model');
  return {
    ...profile,
    adjusters: profile.adjusters.map((a) => {
      const factor = 1 + random.normal(ratioSd);
      return { ...a, moves: a.moves.map((m) => ({ ...m, mmPerTurn: m.mmPerTurn * factor })) };
    }),
  };
}

/** The figures as lines for a terminal or a committed result. */
export function turningText(what: string, figures: TurningFigures): string[] {
  const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
  const of = (counted: number, all: number) =>
    `${counted} of ${all} (${all === 0 ? '-' : percent(counted / all)})`;
  return [
    what,
    `  truly within limits after one round: ${of(figures.insideAfterOneRound, figures.turned)}`,
    `  truly within limits after two rounds: ${of(figures.insideAfterTwoRounds, figures.turned)}`,
    `  ratios of the first round off by ${percent(figures.ratioError)} (rms), said to be uncertain by ${percent(figures.ratioUncertainty)}`,
    `  rounds asked about although done as asked: ${of(figures.askedInVain, figures.rounds)}`,
  ];
}
