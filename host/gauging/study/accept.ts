/** What an accepted study says of clampings: the widths that jobs count with from then on. */
import { studentQuantile } from '../../../protocol/solver';
import { numberedError } from '../../errors/errors';
import type { Day } from '../equipment';
import { effectiveDegreesOfFreedom } from './mean-squares';
import { component, varianceStudy, type VarianceStudy } from './variance-study';
import type { StudyReading } from './readings';

export interface PlacementStudy {
  /** Number of its session; left out for a study from a file. */
  readonly session?: number;
  readonly source: string;
  readonly on: Day;
  readonly technicians: number;
  readonly tips: number;
  readonly repeats: number;
  /** One clamping against another of the same technician: repeatability and interaction. */
  readonly placementSdMm: number;
  /** One technician against another: the same for all clampings of a job. */
  readonly technicianSdMm: number;
  /** Of the placement. */
  readonly degreesOfFreedom: number;
  /**
   * What jobs count with: the standard deviation, widened by Student's t over 2 for how few degrees of freedom it rests on
   * (GUM G.3: k = t(95.45 %) instead of 2).
   */
  readonly placementMm: number;
}

/** Below so many degrees of freedom a study says too little. Shop limit, no source. */
const FEWEST_DEGREES = 10;
/** A clamping worse than this is a fault of the clamp or of its use, and no width to count with. Shop limit, no source. */
const WORST_PLACEMENT_MM = 1;

/** Heights in mm. Throws 472, 473 and 476. */
export function placementStudy(
  readings: readonly StudyReading[],
  from: { readonly session?: number; readonly source: string; readonly on: Day },
): PlacementStudy {
  const study = varianceStudy(readings, { interaction: 'keep' });
  const analysis = study.withInteraction ?? study.withoutInteraction;
  const part = (name: 'repeatability' | 'interaction' | 'operator') =>
    component(analysis, name)?.variance ?? 0;
  const placementSdMm = Math.sqrt(part('repeatability') + part('interaction'));
  const degreesOfFreedom = placementDegrees(study);
  if (study.design === 'nested') throw numberedError('study not accepted', 'technicians read different tips');
  if (study.trials < 2) throw numberedError('study not accepted', 'every tip was clamped once only');
  if (degreesOfFreedom < FEWEST_DEGREES)
    throw numberedError(
      'study not accepted',
      `${degreesOfFreedom.toFixed(0)} degrees of freedom, at least ${FEWEST_DEGREES} are wanted`,
    );
  if (placementSdMm > WORST_PLACEMENT_MM)
    throw numberedError('study not accepted', `clampings differ by ${placementSdMm.toFixed(2)} mm (sd)`);
  return {
    ...from,
    technicians: study.operators.length,
    tips: study.parts.length,
    repeats: study.trials,
    placementSdMm,
    technicianSdMm: Math.sqrt(part('operator')),
    degreesOfFreedom,
    placementMm: (placementSdMm * studentQuantile(0.97725, Math.floor(degreesOfFreedom))) / 2,
  };
}

/** Of (interaction + (r - 1) repeatability) / r in mean squares, after Satterthwaite. */
function placementDegrees({ withInteraction, withoutInteraction, trials }: VarianceStudy): number {
  const anova = (withInteraction ?? withoutInteraction).anova;
  const repeatability = anova.find((r) => r.source === 'repeatability');
  const interaction = anova.find((r) => r.source === 'interaction');
  if (repeatability === undefined) return 0;
  if (interaction === undefined || interaction.meanSquare < repeatability.meanSquare)
    return repeatability.degreesOfFreedom;
  return effectiveDegreesOfFreedom([
    { ...interaction, weight: 1 / trials },
    { ...repeatability, weight: (trials - 1) / trials },
  ]);
}
