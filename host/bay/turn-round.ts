/**
 * The bay's bias by turning a machine round: measured, driven out, stood on the same spots facing the other way, measured
 * again. The machine turns with it, the floor does not, so half the difference is the floor's part in the first result,
 * as far as the floor is alike under the deck facing either way. No instrument is needed.
 */
import {
  groundWeights,
  solveTips,
  surveyedFloor,
  type Layout,
  type MeasureQuestion,
  type Parking,
  type Point,
  type Solution,
  type TipReading,
  type Widths,
} from '../../protocol/solver';
import type { Bay, Day } from './bay';

/** A weighted sum of floor heights in the bay's frame, as a turn-round shows it. */
export interface FloorSum {
  readonly name: string;
  readonly on: Day;
  readonly places: readonly (Point & { readonly weight: number })[];
  readonly valueMm: number;
  readonly standardUncertaintyMm: number;
}

export interface BayBias {
  readonly name: string;
  readonly halfDifferenceMm: number;
  /** What the floor adds to the measure for a machine that faces as in the first job, and how well that is known. */
  readonly biasMm: number;
  readonly standardUncertaintyMm: number;
}

/** One machine as it was read on one visit. */
export interface Visit {
  readonly layout: Layout;
  readonly readings: readonly TipReading[];
  readonly widths: Widths;
  readonly questions: readonly MeasureQuestion[];
}

/** The first job faces as the bay says, the second the other way. Measures that either does not determine are left out. */
export function turnRound(
  bay: Bay,
  on: Day,
  first: Visit,
  second: Visit,
): { readonly biases: readonly BayBias[]; readonly sums: readonly FloorSum[] } {
  const { positionSdMm, headingSdDeg, ...standing } = bay.parking;
  const along: Parking = { ...standing, xSdMm: positionSdMm, ySdMm: positionSdMm, headingSdDeg };
  const a = partsOf(first, along);
  const b = partsOf(second, turned(along, second.layout));
  const both = a.flatMap((p) => {
    const q = b.find((other) => other.name === p.name);
    return q === undefined ? [] : [{ p, q }];
  });
  const sums = both.map(({ p, q }): FloorSum => ({
    name: p.name,
    on,
    places: [...p.places, ...q.places.map((place) => ({ ...place, weight: -place.weight }))].map((place) => ({
      ...place,
      weight: place.weight / 2,
    })),
    valueMm: (p.valueMm - q.valueMm) / 2,
    standardUncertaintyMm: Math.sqrt(p.variance + q.variance) / 2,
  }));
  const survey = {
    rows: sums.map(({ places, valueMm }) => ({ places, valueMm })),
    covariance: sums.map((s, i) => [...sums.slice(0, i).map(() => 0), s.standardUncertaintyMm ** 2]),
    parking: along,
    ...(first.widths.floorSlopeRad === undefined ? {} : { slopeSd: first.widths.floorSlopeRad }),
  };
  const { floorMm, floorLengthMm } = first.widths;
  const places = first.readings.map((r) => ({
    ...tipOf(first.layout, r),
    spot: spotOf(first.layout, r),
  }));
  const known = surveyedFloor(first.layout, survey, places, floorMm, floorLengthMm);
  const biases = both.map(({ p, q }): BayBias => {
    const c = p.perReading;
    const variance = c.reduce(
      (sum, ci, i) =>
        sum +
        c.reduce((t, cj, j) => t + ci * cj * (known?.covariance[Math.max(i, j)]?.[Math.min(i, j)] ?? 0), 0),
      0,
    );
    return {
      name: p.name,
      halfDifferenceMm: (p.valueMm - q.valueMm) / 2,
      biasMm: -c.reduce((sum, ci, i) => sum + ci * (known?.meanMm[i] ?? 0), 0),
      standardUncertaintyMm: Math.sqrt(variance),
    };
  });
  return { biases, sums };
}

/** A measure as a sum over its readings: what the floor under them adds to it, and the variance of what does not repeat. */
interface Part {
  readonly name: string;
  readonly valueMm: number;
  readonly perReading: readonly number[];
  readonly places: FloorSum['places'];
  readonly variance: number;
}

/** Level, rake and the like: heights count from one instrument and do not show what the floor does. */
function partsOf(visit: Visit, parking: Parking): Part[] {
  const { layout, readings, widths } = visit;
  const questions = visit.questions.filter(
    (q) => q.what === 'tips' && Math.abs(q.terms.reduce((sum, t) => sum + t.weight, 0)) < 1e-9,
  );
  const solve = (of: readonly TipReading[]) => solveTips(layout, of, widths, questions);
  const plain = solve(readings);
  // The solution is linear in the readings (but for the heading term), so a millimetre on one shows its weight.
  const raised = readings.map((_, i) =>
    solve(readings.map((r, j) => (i === j ? { ...r, heightMm: r.heightMm + 1 } : r))),
  );
  return questions.flatMap((question, k) => {
    const value = valueAt(plain, k);
    if (value === undefined) return [];
    const perReading = raised.map((s) => (valueAt(s, k) ?? value) - value);
    const variance = notRepeating(visit, plain, perReading);
    return [
      {
        name: question.name,
        valueMm: value,
        perReading,
        places: floorPart(visit, perReading, parking),
        variance,
      },
    ];
  });
}

function valueAt(solution: Solution, k: number): number | undefined {
  const measure = solution.measures[k];
  return measure?.determined === true ? measure.valueMm : undefined;
}

/** A reading is lower by F(spot) - G(tip), so the measure has that much less for every unit of its weight. */
function floorPart({ layout, readings }: Visit, perReading: readonly number[], parking: Parking) {
  const plane = groundWeights(layout);
  const underWheels = layout.wheels.map(() => 0);
  const spots = readings.map((reading, i) => {
    const tip = tipOf(layout, reading);
    const c = perReading[i] ?? 0;
    layout.wheels.forEach((_, w) => {
      const weight = (plane.at0[w] ?? 0) + (plane.perX[w] ?? 0) * tip.xMm + (plane.perY[w] ?? 0) * tip.yMm;
      underWheels[w] = (underWheels[w] ?? 0) + c * weight;
    });
    return { ...inBay(parking, spotOf(layout, reading)), weight: -c };
  });
  const wheels = layout.wheels.map((wheel, w) => ({ ...inBay(parking, wheel), weight: underWheels[w] ?? 0 }));
  return [...spots, ...wheels];
}

/** What differs from visit to visit besides the floor: clamping, texture, noise, seating, pointing the blade. */
function notRepeating({ layout, readings, widths }: Visit, solution: Solution, c: readonly number[]): number {
  const grouped = (key: (r: TipReading) => number, by: (r: TipReading) => number) => {
    const sums = new Map<number, number>();
    readings.forEach((r, i) => sums.set(key(r), (sums.get(key(r)) ?? 0) + (c[i] ?? 0) * by(r)));
    return [...sums.values()].reduce((sum, s) => sum + s * s, 0);
  };
  const { pose } = solution;
  const single = readings.reduce((sum, r, i) => {
    const angle = (r.headingDeg * Math.PI) / 180;
    const slope =
      pose === 'not determined' ? 0 : pose.slopeY * Math.cos(angle) - pose.slopeX * Math.sin(angle);
    const reach = (layout.spindles[r.spindle]?.tipRadiusMm ?? 0) * ((widths.headingDeg * Math.PI) / 180);
    const variance = widths.textureMm ** 2 + r.standardErrorMm ** 2 + (reach * slope) ** 2;
    return sum + (c[i] ?? 0) ** 2 * variance;
  }, 0);
  const seating = (r: TipReading) => r.seating;
  return (
    single +
    grouped(
      (r) => r.placement,
      () => 1,
    ) *
      widths.placementMm ** 2 +
    grouped(seating, () => 1) * widths.seatingHeightMm ** 2 +
    (grouped(seating, (r) => tipOf(layout, r).xMm) + grouped(seating, (r) => tipOf(layout, r).yMm)) *
      widths.seatingSlopeRad ** 2
  );
}

function tipOf(layout: Layout, reading: TipReading): Point {
  const spindle = layout.spindles[reading.spindle];
  if (spindle === undefined) throw new Error('a reading of a spindle that the machine does not have');
  const angle = (reading.headingDeg * Math.PI) / 180;
  return {
    xMm: spindle.xMm + spindle.tipRadiusMm * Math.cos(angle),
    yMm: spindle.yMm + spindle.tipRadiusMm * Math.sin(angle),
  };
}

function spotOf(layout: Layout, reading: TipReading): Point {
  const tip = tipOf(layout, reading);
  const { outwardMm, leftMm } = layout.spotOffset ?? { outwardMm: 0, leftMm: 0 };
  const angle = (reading.headingDeg * Math.PI) / 180;
  return (
    reading.spot ?? {
      xMm: tip.xMm + outwardMm * Math.cos(angle) - leftMm * Math.sin(angle),
      yMm: tip.yMm + outwardMm * Math.sin(angle) + leftMm * Math.cos(angle),
    }
  );
}

/** Front wheels where the rear ones were. */
function turned(parking: Parking, { wheels }: Layout): Parking {
  const along = wheels.map((w) => w.xMm);
  const origin = inBay(parking, { xMm: Math.max(...along) + Math.min(...along), yMm: 0 });
  return { ...parking, ...origin, headingDeg: parking.headingDeg + 180 };
}

function inBay(parking: Parking, { xMm, yMm }: Point): Point {
  const angle = (parking.headingDeg * Math.PI) / 180;
  return {
    xMm: parking.xMm + Math.cos(angle) * xMm - Math.sin(angle) * yMm,
    yMm: parking.yMm + Math.sin(angle) * xMm + Math.cos(angle) * yMm,
  };
}
