/** Turning machines round in the simulated physics: how well half the difference tells the floor's part. */
import { turnRound, type Visit } from '../../host/bay/turn-round';
import { simulatedSurvey } from '../../host/cli/simulated-survey';
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import { measureQuestions, readingsOfRounds } from '../../host/procedure/assess';
import { seededRandom } from '../../host/simulation/random';
import type { Shop } from '../../host/simulation/shop';
import { directJob } from './direct-job';

export interface TurnRoundFigures {
  readonly name: string;
  readonly machines: number;
  /** Root mean square of the floor's true part, of its estimate's error, of half the difference's error. */
  readonly trueMm: number;
  readonly errorMm: number;
  readonly halfDifferenceErrorMm: number;
  readonly uMm: number;
  /** Share of U (k = 2) that hold the floor's true part. */
  readonly coverage: number;
}

export function turnRoundCampaign({ jobs, seed }: { jobs: number; seed: number }): TurnRoundFigures[] {
  const profiles = listProfiles();
  const found = new Map<string, { true: number; bias: number; half: number; u: number }[]>();
  for (let i = 0; i < jobs; i += 1) {
    const profile = profiles[i % profiles.length];
    if (profile === undefined) throw new Error('no profiles');
    const first = visit(seed + i, profile, 1, 'along');
    const second = visit(seed + i, profile, 2, 'against');
    const bay = simulatedSurvey(profile, first.shop.floor, '2026-06-01', seededRandom(seed + i));
    for (const b of turnRound(bay, '2026-06-01', first, second).biases) {
      const list = found.get(b.name) ?? [];
      list.push({
        true: floorPartMm(first.shop, first, b.name),
        bias: b.biasMm,
        half: b.halfDifferenceMm,
        u: b.standardUncertaintyMm,
      });
      found.set(b.name, list);
    }
  }
  return ['level', 'rake'].map((name) => {
    const list = found.get(name) ?? [];
    const rms = (of: (f: (typeof list)[number]) => number) =>
      Math.sqrt(list.reduce((sum, f) => sum + of(f) ** 2, 0) / list.length);
    return {
      name,
      machines: list.length,
      trueMm: rms((f) => f.true),
      errorMm: rms((f) => f.bias - f.true),
      halfDifferenceErrorMm: rms((f) => f.half - f.true),
      uMm: rms((f) => f.u),
      coverage: list.filter((f) => Math.abs(f.bias - f.true) <= 2 * f.u).length / list.length,
    };
  });
}

function visit(
  seed: number,
  profile: MachineProfile,
  number: number,
  facing: 'along' | 'against',
): Visit & { readonly shop: Shop } {
  const { state, shop } = directJob(seed, profile, { arrivalOnly: true, visit: number, facing });
  const { of, widths, layout } = readingsOfRounds(state);
  const setting = state.settings[0];
  if (setting === undefined) throw new Error('nothing was read');
  return { shop, layout, readings: of(setting), widths, questions: measureQuestions(profile) };
}

/** What the floor truly adds to a measure of a machine that reads only the tips that the measure names. */
function floorPartMm(shop: Shop, { layout, questions }: Visit, name: string): number {
  const question = questions.find((q) => q.name === name);
  if (question?.what !== 'tips') return NaN;
  const outwardMm = layout.spotOffset?.outwardMm ?? 0;
  return question.terms.reduce((sum, { spindle, headingDeg, weight }) => {
    const { xMm, yMm, tipRadiusMm } = layout.spindles[spindle] ?? { xMm: 0, yMm: 0, tipRadiusMm: 0 };
    const angle = (headingDeg * Math.PI) / 180;
    const at = (radiusMm: number) => ({
      xMm: xMm + radiusMm * Math.cos(angle),
      yMm: yMm + radiusMm * Math.sin(angle),
    });
    return sum - weight * shop.floorAboveGroundMm(at(tipRadiusMm + outwardMm), at(tipRadiusMm));
  }, 0);
}

export function turnRoundText(figures: readonly TurnRoundFigures[]): string[] {
  return [
    `${figures[0]?.machines ?? 0} machines turned round, unsurveyed floor`,
    ...figures.map(
      (f) =>
        `  ${f.name}: floor's part ${f.trueMm.toFixed(2)} mm (rms); half the difference misses it by ${f.halfDifferenceErrorMm.toFixed(2)} mm, ` +
        `the estimate by ${f.errorMm.toFixed(2)} mm with u ${f.uMm.toFixed(2)} mm; U (k = 2) holds it on ${(100 * f.coverage).toFixed(1)} %`,
    ),
  ];
}
