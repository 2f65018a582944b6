/**
 * What a survey of the floor is worth, in the simulated physics: the same machines, as they came and read once, solved
 * without a survey, with one, with one that the floor has left behind since (with and without the residual test), and
 * with the bias from turning a machine round. Populations are invented; the truth is looked at only to compare.
 */
import { judge, solveTips, type Solution } from '../../protocol/solver';
import { floorHolds, floorOfJob, type BayOfJob } from '../../host/bay/known-floor';
import { simulatedSurvey } from '../../host/cli/simulated-survey';
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import { measureQuestions, readingsOfRounds } from '../../host/procedure/assess';
import { createFloor } from '../../host/simulation/floor';
import { changedFloor } from '../../host/simulation/floor-survey';
import { POPULATION, type Population } from '../../host/simulation/population';
import { seededRandom } from '../../host/simulation/random';
import type { Shop } from '../../host/simulation/shop';
import { assumedShop } from './assumed-shop';
import { directJob } from './direct-job';

/** The day of every survey and every job here. */
const ON = '2026-06-01';

/** The shop's floor as surveyed; `staleMm`: before it sank and heaved by that much. */
export function surveyed(
  shop: Shop,
  profile: MachineProfile,
  seed: number,
  staleMm = 0,
  alikeMm = POPULATION.floorCorrelationMm,
): BayOfJob {
  const random = seededRandom(seed).split('survey');
  const change = createFloor(random.split('change'), {
    ...POPULATION,
    floorSdMm: staleMm,
    floorCorrelationMm: alikeMm,
    floorSlopeSd: 0,
    textureSdMm: 0,
  });
  const floor = staleMm === 0 ? shop.floor : changedFloor(shop.floor, change);
  return { bay: simulatedSurvey(profile, floor, ON, random), on: ON, turnRounds: [] };
}

/** How one way of knowing the floor did over all machines. */
export interface FloorFigures {
  readonly name: string;
  /** Mean standard uncertainty, and share of U (k = 2) that hold the truth. */
  readonly uMm: Readonly<Record<string, number>>;
  readonly coverage: Readonly<Record<string, number>>;
  readonly accepted: number;
  readonly falselyAccepted: number;
  /** Of the machines that are inside all limits, those accepted. */
  readonly useful: number;
  readonly lostSurvey: number;
}

export interface BayFigures {
  readonly jobs: number;
  readonly inside: number;
  readonly floors: readonly FloorFigures[];
}

const MEASURES = ['level', 'rake'] as const;

export interface BayCampaign {
  readonly jobs: number;
  readonly seed: number;
  readonly population?: Partial<Population>;
  /** Sd of what the floor has moved since a stale survey. */
  readonly staleMm?: number;
  /** Length over which that is alike. */
  readonly staleAlikeMm?: number;
}

export function bayCampaign({
  jobs,
  seed,
  population,
  staleMm = 1.5,
  staleAlikeMm,
}: BayCampaign): BayFigures {
  const profiles = listProfiles();
  const ways = ['not surveyed', 'surveyed', 'stale, no residual test', 'stale, residual test'] as const;
  const tallies = ways.map((name) => tally(name));
  let inside = 0;
  for (let i = 0; i < jobs; i += 1) {
    const profile = profiles[i % profiles.length];
    if (profile === undefined) throw new Error('no profiles');
    const shop = { ...assumedShop(seededRandom(seed + i).split('assumed')), ...population };
    const job = directJob(seed + i, profile, { ...shop, arrivalOnly: true });
    const stage = job.stages[0];
    const setting = job.state.settings[0];
    if (stage === undefined || setting === undefined) throw new Error('nothing was read');
    const questions = measureQuestions(profile);
    const { of, widths, layout } = readingsOfRounds(job.state);
    const readings = of(setting);
    const solve = (bay?: BayOfJob) => {
      const floor = bay === undefined ? undefined : floorOfJob(bay);
      return solveTips(
        floor === undefined ? layout : { ...layout, surveyed: floor },
        readings,
        widths,
        questions,
      );
    };
    const plain = solve();
    const good = solve(surveyed(job.shop, profile, seed + i));
    const stale = solve(surveyed(job.shop, profile, seed + i, staleMm, staleAlikeMm));
    const kept = floorHolds(stale, () => plain);
    const solutions = [plain, good, stale, kept ? stale : plain];
    const within = profile.measures.every((m) => {
      const truth = stage.trueMm[m.name] ?? NaN;
      return truth >= m.lowerMm && truth <= m.upperMm;
    });
    if (within) inside += 1;
    solutions.forEach((solution, k) =>
      tallies[k]?.add(solution, judge(solution, questions).decision, stage.trueMm, within),
    );
    if (!kept) tallies[3]?.lost();
    if (!floorHolds(good, () => plain)) tallies[1]?.lost();
  }
  return { jobs, inside, floors: tallies.map((t) => t.figures(jobs, inside)) };
}

function tally(name: string) {
  const u: Record<string, number> = {};
  const covered: Record<string, number> = {};
  let accepted = 0;
  let falselyAccepted = 0;
  let lost = 0;
  return {
    lost: () => (lost += 1),
    add(solution: Solution, decision: string, trueMm: Readonly<Record<string, number>>, within: boolean) {
      for (const measure of MEASURES) {
        const found = solution.measures.find((m) => m.name === measure);
        if (found?.determined !== true) continue;
        u[measure] = (u[measure] ?? 0) + found.standardUncertaintyMm;
        const off = Math.abs(found.valueMm - (trueMm[measure] ?? NaN));
        if (off <= 2 * found.standardUncertaintyMm) covered[measure] = (covered[measure] ?? 0) + 1;
      }
      if (decision !== 'pass') return;
      accepted += 1;
      if (!within) falselyAccepted += 1;
    },
    figures: (jobs: number, inside: number): FloorFigures => ({
      name,
      uMm: Object.fromEntries(MEASURES.map((m) => [m, (u[m] ?? 0) / jobs])),
      coverage: Object.fromEntries(MEASURES.map((m) => [m, (covered[m] ?? 0) / jobs])),
      accepted,
      falselyAccepted,
      useful: inside === 0 ? NaN : (accepted - falselyAccepted) / inside,
      lostSurvey: lost / jobs,
    }),
  };
}

export function bayText({ jobs, inside, floors }: BayFigures): string[] {
  const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
  return [
    `${jobs} simulated machines as they came, ${inside} of them inside all limits`,
    ...floors.flatMap((f) => [
      `  ${f.name}: u(level) ${(f.uMm['level'] ?? NaN).toFixed(2)} mm, u(rake) ${(f.uMm['rake'] ?? NaN).toFixed(2)} mm; ` +
        `U (k = 2) holds the truth: level ${percent(f.coverage['level'] ?? NaN)}, rake ${percent(f.coverage['rake'] ?? NaN)}`,
      `    accepted ${f.accepted}, of them truly outside ${f.falselyAccepted} (${percent(f.falselyAccepted / f.accepted)}); ` +
        `of those inside accepted ${percent(f.useful)}; survey lost on ${percent(f.lostSurvey)}`,
    ]),
  ];
}
