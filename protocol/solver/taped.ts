/**
 * A machine whose geometry was taken from outside with a tape: what the tip model has to count for it.
 *
 * A spindle that is not quite where the profile has it sits higher or lower by the deck's slope times that error, as if
 * its bracket were off; a blade that is longer or shorter swings through heights as if its spindle were tilted. So position
 * and radius widen the priors of spindle height and tilt. The floor is met elsewhere than thought, under the tips and under
 * the wheels, which matters by the slope of its unevenness: an even slope moves tips, spots and wheels alike.
 */
import { groundWeights } from './ground';
import type { Layout, Point, TapeUncertainty, Widths } from './layout';
import { toFloat, zeros } from './number';

/** Where a blade end was read. */
interface Place extends Point {
  readonly spindle: number;
  readonly cos: number;
  readonly sin: number;
}

/** Of each spindle's tip circle, with variances. */
interface Slopes {
  readonly x: readonly number[];
  readonly y: readonly number[];
  readonly varianceX: readonly number[];
  readonly varianceY: readonly number[];
}

/** Widths with those of spindle height and tilt widened by the geometry's errors, linearised at the given slopes. */
export function widenForTape(layout: Layout, tape: TapeUncertainty, widths: Widths, slopes: Slopes): Widths {
  const count = toFloat(layout.spindles.length);
  let square = toFloat(0);
  let radius = toFloat(0);
  for (let k = 0; k < layout.spindles.length; k++) {
    const x = slopes.x[k] * slopes.x[k] + slopes.varianceX[k];
    const y = slopes.y[k] * slopes.y[k] + slopes.varianceY[k];
    square += (x + y) / count;
    radius += layout.spindles[k].tipRadiusMm / count;
  }
  const height = square * tape.spindleMm * tape.spindleMm;
  const tilt = (square * tape.tipRadiusMm * tape.tipRadiusMm) / (radius * radius);
  return {
    ...widths,
    spindleHeightMm: Math.sqrt(toFloat(widths.spindleHeightMm) * widths.spindleHeightMm + height),
    spindleTiltRad: Math.sqrt(toFloat(widths.spindleTiltRad) * widths.spindleTiltRad + tilt),
  };
}

/**
 * Covariance that the geometry's errors add to F(spot) - G(tip) between stations, lower triangle by rows. The slope of the
 * unevenness has the standard deviation floorMm / floorLengthMm along each axis (derivative of the squared exponential).
 */
export function tapeCovariance(
  layout: Layout,
  tape: TapeUncertainty,
  stations: readonly Place[],
  widths: Widths,
): number[][] {
  const slope = toFloat(widths.floorMm) / widths.floorLengthMm;
  const variance = slope * slope;
  const spindle = 2 * toFloat(tape.spindleMm) * tape.spindleMm;
  const radius = toFloat(tape.tipRadiusMm) * tape.tipRadiusMm;
  const wheel = 2 * toFloat(tape.wheelMm) * tape.wheelMm;
  const weights = wheelWeights(layout, stations);
  const rows: number[][] = [];
  for (let s = 0; s < stations.length; s++) {
    const row: number[] = [];
    for (let t = 0; t <= s; t++) {
      const a = stations[s];
      const b = stations[t];
      let sum = toFloat(0);
      for (let i = 0; i < layout.wheels.length; i++) sum += weights[s][i] * weights[t][i] * wheel;
      if (a.spindle === b.spindle) sum += spindle + radius * (a.cos * b.cos + a.sin * b.sin);
      row.push(variance * sum);
    }
    rows.push(row);
  }
  return rows;
}

/** For every station the weight of each wheel's floor in the ground plane there. */
function wheelWeights(layout: Layout, stations: readonly Place[]): number[][] {
  const plane = groundWeights(layout);
  const rows: number[][] = [];
  for (const { xMm, yMm } of stations) {
    const row = zeros(layout.wheels.length);
    for (let i = 0; i < layout.wheels.length; i++) {
      row[i] = plane.at0[i] + plane.perX[i] * xMm + plane.perY[i] * yMm;
    }
    rows.push(row);
  }
  return rows;
}
