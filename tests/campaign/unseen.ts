/** Machines whose profile was taken with a tape, in the simulated shop: whether the stated uncertainty holds all the same. */
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import { asTaped } from '../../host/machines/taped';
import { trueGeometry } from '../../host/simulation/geometry-error';
import { seededRandom } from '../../host/simulation/random';
import { assumedShop } from './assumed-shop';
import { directJob } from './direct-job';

export interface UnseenOptions {
  readonly jobs: number;
  readonly seed: number;
  /** Standard deviation by which every dimension of the true machine is off. */
  readonly offMm: number;
  /** What the tool is told of that; undefined: that the geometry is the maker's. */
  readonly saidMm: number | undefined;
}

export interface UnseenFigures {
  /** Share of the determined measures of tips on arrival whose U (k = 2) holds the truth. */
  readonly coverage: number;
  readonly measures: number;
  readonly meanUncertaintyMm: number;
}

export function unseenMachines({ jobs, seed, offMm, saidMm }: UnseenOptions): UnseenFigures {
  const profiles = listProfiles();
  let inside = 0;
  let measures = 0;
  let sumMm = 0;
  for (let i = 0; i < jobs; i += 1) {
    const profile = profiles[i % profiles.length];
    if (profile === undefined) throw new Error('no profiles');
    const machine = trueGeometry(asTaped(profile, offMm), seededRandom(seed + i).split('tape'));
    const said: MachineProfile = saidMm === undefined ? profile : asTaped(profile, saidMm);
    const shop = assumedShop(seededRandom(seed + i).split('assumed'));
    const stage = directJob(seed + i, said, { ...shop, machine, arrivalOnly: true }).stages[0];
    for (const [k, measure] of (stage?.assessment.solution.measures ?? []).entries()) {
      const truth = stage?.trueMm[measure.name];
      if (!measure.determined || truth === undefined || profile.measures[k]?.what === 'bend') continue;
      measures += 1;
      sumMm += measure.standardUncertaintyMm;
      if (Math.abs(measure.valueMm - truth) <= 2 * measure.standardUncertaintyMm) inside += 1;
    }
  }
  return { coverage: inside / measures, measures, meanUncertaintyMm: sumMm / measures };
}

export function unseenText({ offMm, saidMm }: UnseenOptions, figures: UnseenFigures): string {
  const known = saidMm === undefined ? "said to be the maker's" : `known to ${saidMm} mm`;
  return `geometry off by ${offMm} mm (sd), ${known}: U (k = 2) holds the truth in ${(100 * figures.coverage).toFixed(1)} % of ${figures.measures} measures, mean u ${figures.meanUncertaintyMm.toFixed(3)} mm`;
}
