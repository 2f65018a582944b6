import type { MachineProfile } from '../machines/profile';
import type { Plane } from './plane';

/** Slopes are sought in mm per metre, so that all three unknowns are of one size. */
const PER_METRE = 1e-3;
/** Weight of "level and at the cut height" where the profile's measures leave the plane open. */
const FAINT = 1e-5;

/**
 * The cutting plane at which every tip measure of the profile is on its target: least squares over the measures by
 * normal equations and Cramer's rule, for three unknowns.
 */
export function targetPlane(profile: MachineProfile): Plane {
  const rows: [number, number, number, number][] = [
    [FAINT, 0, 0, FAINT * profile.cutHeightMm],
    [0, FAINT, 0, 0],
    [0, 0, FAINT, 0],
  ];
  for (const measure of profile.measures) {
    if (measure.what !== 'tips') continue;
    const row: [number, number, number, number] = [0, 0, 0, measure.targetMm];
    for (const term of measure.terms) {
      const spindle = profile.spindles.find((s) => s.name === term.spindle);
      if (spindle === undefined) throw new Error(`the machine has no spindle ${term.spindle}`);
      const heading = (term.headingDeg * Math.PI) / 180;
      row[0] += term.weight;
      row[1] += term.weight * PER_METRE * (spindle.xMm + spindle.tipRadiusMm * Math.cos(heading));
      row[2] += term.weight * PER_METRE * (spindle.yMm + spindle.tipRadiusMm * Math.sin(heading));
    }
    rows.push(row);
  }
  const normal = (i: number, j: number) => rows.reduce((sum, row) => sum + row[i] * row[j], 0);
  const columns = [0, 1, 2, 3].map((j) => [normal(0, j), normal(1, j), normal(2, j)]);
  const whole = determinant(columns[0], columns[1], columns[2]);
  return {
    z0Mm: determinant(columns[3], columns[1], columns[2]) / whole,
    slopeX: (PER_METRE * determinant(columns[0], columns[3], columns[2])) / whole,
    slopeY: (PER_METRE * determinant(columns[0], columns[1], columns[3])) / whole,
  };
}

function determinant(a: readonly number[], b: readonly number[], c: readonly number[]): number {
  return (
    a[0] * (b[1] * c[2] - b[2] * c[1]) -
    b[0] * (a[1] * c[2] - a[2] * c[1]) +
    c[0] * (a[1] * b[2] - a[2] * b[1])
  );
}
