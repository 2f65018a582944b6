/**
 * A matt, flat plate of known thickness that lies under the laser spot: the reading then ends on the plate, not on the
 * floor's texture or on a shiny patch.
 */
import type { Widths } from '../../protocol/solver';

export interface TargetPlate {
  readonly thicknessMm: number;
  /** Of the thickness, k = 2: of one plate that is carried along, or of a set cut from one sheet. */
  readonly expandedUncertaintyMm: number;
}

/** How differently a plate lies each time it is put down: flatness, and the grains that it happens to rest on (assumed). */
const LIE_MM = 0.04;
/**
 * A plate rests on the highest grains, a tyre sinks between them: the plate's rise over the floor that the wheels stand
 * on is somewhere between nothing and three times the texture, the same at every spot.
 */
const HIGHEST_GRAINS = 3;

/** The widths of readings that end on a plate: its lie in place of the texture; thickness and rise with the fixture's zero. */
export function onPlate(widths: Widths, plate: TargetPlate | undefined): Widths {
  if (plate === undefined) return widths;
  // Root mean square of a rise that is anything from 0 to the greatest, each as likely.
  const riseMm = (HIGHEST_GRAINS * widths.textureMm) / Math.sqrt(3);
  return {
    ...widths,
    textureMm: LIE_MM,
    offsetMm: Math.hypot(widths.offsetMm, plate.expandedUncertaintyMm / 2, riseMm),
  };
}

export function plateText({ thicknessMm, expandedUncertaintyMm }: TargetPlate): string {
  return `target plate of ${thicknessMm.toFixed(2)} ± ${expandedUncertaintyMm.toFixed(2)} mm under every laser spot`;
}
