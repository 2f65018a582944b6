/** Many levelling jobs in the simulated physics: how often the tool is right, and how often one round is enough. */
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import type { Population } from '../../host/simulation/population';
import { seededRandom } from '../../host/simulation/random';
import { assumedShop } from './assumed-shop';
import { directJob, type DirectJob, type SolvedStage } from './direct-job';

export interface CampaignOptions {
  readonly jobs: number;
  readonly seed: number;
  /** Relative standard deviation of the true mm per turn, and what the profile says of it. */
  readonly ratioSd: number;
  /** Widths that differ from a careful shop's. */
  readonly population?: Partial<Population>;
}

export interface CampaignFigures {
  readonly jobs: number;
  /** Share of arrival readings whose U (k = 2) holds the truth, by measure. */
  readonly coverage: Readonly<Record<'level' | 'rake' | 'cut height', number>>;
  /** Jobs that needed turning at all, and those of them truly within limits after the first round. */
  readonly turned: number;
  readonly insideAfterOneRound: number;
  readonly passed: number;
  /** Passed although a limited measure is truly outside. */
  readonly falselyPassed: number;
  readonly undecided: number;
  readonly failed: number;
  readonly readings: number;
}

export function levellingCampaign({ jobs, seed, ratioSd, population }: CampaignOptions): CampaignFigures {
  const profiles = listProfiles().map((p) => withRatioUncertainty(p, ratioSd));
  const covered = { level: 0, rake: 0, 'cut height': 0 };
  const figures = {
    turned: 0,
    insideAfterOneRound: 0,
    passed: 0,
    falselyPassed: 0,
    undecided: 0,
    failed: 0,
    readings: 0,
  };
  for (let i = 0; i < jobs; i += 1) {
    const profile = profiles[i % profiles.length];
    if (profile === undefined) throw new Error('no profiles');
    const shop = assumedShop(seededRandom(seed + i).split('assumed'));
    const job = directJob(seed + i, profile, { ...shop, ratioSd, sequence: 'quick', ...population });
    const arrival = job.stages[0];
    if (arrival === undefined) throw new Error('a job without arrival readings');
    for (const name of ['level', 'rake', 'cut height'] as const)
      if (covers(arrival, name)) covered[name] += 1;
    figures.readings += job.state.readings.length;
    const afterOne = job.stages.find((s) => s.stage === 'after turning');
    if (afterOne !== undefined) {
      figures.turned += 1;
      if (trulyInside(profile, afterOne, 'adjustable')) figures.insideAfterOneRound += 1;
    }
    countDecision(job, profile, figures);
  }
  const share = (count: number) => count / jobs;
  return {
    jobs,
    coverage: {
      level: share(covered.level),
      rake: share(covered.rake),
      'cut height': share(covered['cut height']),
    },
    ...figures,
  };
}

function countDecision(
  job: DirectJob,
  profile: MachineProfile,
  figures: { passed: number; falselyPassed: number; undecided: number; failed: number },
) {
  const last = job.stages.at(-1);
  if (job.state.closed === 'pass') {
    figures.passed += 1;
    if (last === undefined || !trulyInside(profile, last, 'all')) figures.falselyPassed += 1;
  } else if (job.state.closed === 'fail') figures.failed += 1;
  else figures.undecided += 1;
}

function covers(stage: SolvedStage, name: string): boolean {
  const solved = stage.assessment.solution.measures.find((m) => m.name === name);
  const truth = stage.trueMm[name];
  if (solved?.determined !== true || truth === undefined) return false;
  return Math.abs(solved.valueMm - truth) <= 2 * solved.standardUncertaintyMm;
}

/** A bent blade is no adjustment fault: turning cannot mend it. */
function trulyInside(profile: MachineProfile, stage: SolvedStage, which: 'adjustable' | 'all'): boolean {
  return profile.measures
    .filter((m) => which === 'all' || m.what === 'tips')
    .every((m) => {
      const truth = stage.trueMm[m.name] ?? NaN;
      return truth >= m.lowerMm && truth <= m.upperMm;
    });
}

function withRatioUncertainty(profile: MachineProfile, ratioUncertainty: number): MachineProfile {
  return { ...profile, adjusters: profile.adjusters.map((a) => ({ ...a, ratioUncertainty })) };
}

/** The figures as lines for a terminal or a committed result. */
export function campaignText(figures: CampaignFigures, ratioSd: number): string[] {
  const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
  const of = (count: number, all: number) => `${count} of ${all} (${all === 0 ? '-' : percent(count / all)})`;
  const { coverage } = figures;
  return [
    `${figures.jobs} simulated levelling jobs, ratios ${percent(ratioSd)} uncertain`,
    `  U (k = 2) holds the truth: level ${percent(coverage.level)}, rake ${percent(coverage.rake)}, cut height ${percent(coverage['cut height'])}`,
    `  truly within limits after one round of turning: ${of(figures.insideAfterOneRound, figures.turned)}`,
    `  passed: ${of(figures.passed, figures.jobs)}; can't tell: ${figures.undecided}; failed: ${figures.failed}`,
    `  passed although truly outside: ${of(figures.falselyPassed, figures.passed)}`,
    `  readings a job: ${(figures.readings / figures.jobs).toFixed(1)}`,
  ];
}
