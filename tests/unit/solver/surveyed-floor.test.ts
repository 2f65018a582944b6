/** The floor from a survey: conditioning against ml-matrix, and what it does to level and rake. */
import { Matrix, inverse } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { groundWeights, solveTips, type SurveyedFloor } from '../../../protocol/solver';
import { surveyedFloor } from '../../../protocol/solver/surveyed-floor';
import { seededRandom } from '../../../host/simulation/random';
import { layout, questions, readingsRound, widths } from '../../bench/example';

const random = seededRandom(5);
const grid = [-600, 0, 600, 1200, 1800].flatMap((xMm) => [-900, -300, 300, 900].map((yMm) => ({ xMm, yMm })));
const still = { xMm: 40, yMm: -30, headingDeg: 0, xSdMm: 0, ySdMm: 0, headingSdDeg: 0 };
const floorAt = (x: number, y: number) =>
  12 + 0.004 * x - 0.003 * y + 1.5 * Math.sin(x / 700) * Math.cos(y / 900);
const survey = (sdMm: number, parking = still): SurveyedFloor => ({
  rows: grid.map((p) => ({ places: [{ ...p, weight: 1 }], valueMm: floorAt(p.xMm, p.yMm) })),
  covariance: grid.map((_, i) => [...Array.from({ length: i }, () => 0), sdMm ** 2]),
  parking,
});
const places = layout.spindles.map((s, i) => ({
  xMm: s.xMm,
  yMm: s.yMm + (i - 1) * s.tipRadiusMm,
  spot: { xMm: s.xMm + random.normal(20), yMm: s.yMm + (i - 1) * s.tipRadiusMm },
}));
const plane = groundWeights(layout);
/** F(spot) - G(tip) of any floor, at a place of the machine and with the machine where it stands. */
const truth = (place: (typeof places)[number], at: (x: number, y: number) => number) =>
  at(place.spot.xMm, place.spot.yMm) -
  layout.wheels.reduce(
    (sum, w, i) =>
      sum + (plane.at0[i] + plane.perX[i] * place.xMm + plane.perY[i] * place.yMm) * at(w.xMm, w.yMm),
    0,
  );

test('mean and covariance as ml-matrix conditions the joint Gaussian', () => {
  const known = surveyedFloor(layout, survey(0.3), places, 1, 1500);
  if (known === undefined) throw new Error('nothing known');
  // The joint prior covariance of the grid and the places, the plane's three numbers included with their wide priors.
  const k = (a: number[], b: number[]) =>
    1e6 +
    0.0025 * (a[0] * b[0] + a[1] * b[1]) +
    Math.exp(-((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) / (2 * 1500 ** 2));
  const parts = places.map((p) => [
    { at: [p.spot.xMm + still.xMm, p.spot.yMm + still.yMm], weight: 1 },
    ...layout.wheels.map((w, i) => ({
      at: [w.xMm + still.xMm, w.yMm + still.yMm],
      weight: -(plane.at0[i] + plane.perX[i] * p.xMm + plane.perY[i] * p.yMm),
    })),
  ]);
  const ofGrid = grid.map((g) => [{ at: [g.xMm, g.yMm], weight: 1 }]);
  const between = (a: typeof parts, b: typeof parts) =>
    new Matrix(
      a.map((p) =>
        b.map((q) =>
          p.reduce((s, u) => s + q.reduce((t, v) => t + u.weight * v.weight * k(u.at, v.at), 0), 0),
        ),
      ),
    );
  const gain = between(parts, ofGrid).mmul(
    inverse(between(ofGrid, ofGrid).add(Matrix.eye(grid.length).mul(0.09))),
  );
  const mean = gain.mmul(Matrix.columnVector(grid.map((g) => floorAt(g.xMm, g.yMm))));
  const covariance = Matrix.sub(between(parts, parts), gain.mmul(between(ofGrid, parts)));
  places.forEach((_, s) => {
    // The library inverts a matrix of condition 1e9 here: four digits are what can be asked.
    expect(known.meanMm[s]).toBeCloseTo(mean.get(s, 0), 3);
    for (let t = 0; t <= s; t += 1) expect(known.covariance[s]?.[t]).toBeCloseTo(covariance.get(s, t), 3);
  });
});

test('a fine survey finds the floor, whatever its height and slope', () => {
  const known = surveyedFloor(layout, survey(0.02), places, 1.5, 900);
  places.forEach((place, i) => {
    const d = truth(place, (x, y) => floorAt(x + still.xMm, y + still.yMm));
    expect(Math.abs((known?.meanMm[i] ?? NaN) - d)).toBeLessThan(0.1);
  });
});

test('parking: the spread of the mean over places where the machine may stand', () => {
  const sds = { xSdMm: 20, ySdMm: 20, headingSdDeg: 1 };
  const still0 = surveyedFloor(layout, survey(0.1), places, 1, 1500);
  const loose = surveyedFloor(layout, survey(0.1, { ...still, ...sds }), places, 1, 1500);
  // A sample of parkings, each known exactly: their means vary as the linearised term says.
  const draws = Array.from({ length: 4000 }, () => {
    const parking = {
      ...still,
      xMm: still.xMm + random.normal(20),
      yMm: still.yMm + random.normal(20),
      headingDeg: random.normal(1),
    };
    return surveyedFloor(layout, survey(0.1, parking), [places[0]], 1, 1500)?.meanMm[0] ?? NaN;
  });
  const mean = draws.reduce((a, b) => a + b, 0) / draws.length;
  const variance = draws.reduce((a, b) => a + (b - mean) ** 2, 0) / (draws.length - 1);
  const added = (loose?.covariance[0]?.[0] ?? NaN) - (still0?.covariance[0]?.[0] ?? NaN);
  expect(added / variance).toBeGreaterThan(0.9);
  expect(added / variance).toBeLessThan(1.1);
});

describe('in the result', () => {
  const read = readingsRound(1);
  const u = (of: ReturnType<typeof solveTips>, name: string) => {
    const found = of.measures.find((m) => m.name === name);
    return found?.determined === true ? found : { valueMm: NaN, standardUncertaintyMm: NaN };
  };

  test('without a survey nothing changes, to the bit', () => {
    expect(solveTips({ ...layout }, read, widths, questions)).toEqual(
      solveTips(layout, read, widths, questions),
    );
  });

  test('the surveyed height under each reading is added, and level and rake are surer', () => {
    const exact = survey(0.05);
    const lifted = read.map((r) => {
      const s = layout.spindles[r.spindle];
      const angle = (r.headingDeg * Math.PI) / 180;
      const at = {
        xMm: s.xMm + s.tipRadiusMm * Math.cos(angle),
        yMm: s.yMm + s.tipRadiusMm * Math.sin(angle),
      };
      return {
        ...r,
        heightMm: r.heightMm - truth({ ...at, spot: at }, (x, y) => floorAt(x + still.xMm, y + still.yMm)),
      };
    });
    const flat = { ...exact, rows: exact.rows.map((row) => ({ ...row, valueMm: 0 })) };
    const a = solveTips({ ...layout, surveyed: exact }, lifted, widths, questions);
    const b = solveTips({ ...layout, surveyed: flat }, read, widths, questions);
    for (const { name } of questions) {
      expect(Math.abs(u(a, name).valueMm - u(b, name).valueMm)).toBeLessThan(0.15);
    }
    // On a stiff, true deck the floor is most of what is not known of level.
    const quiet = {
      ...widths,
      floorMm: 1,
      textureMm: 0.1,
      spindleHeightMm: 0.1,
      spindleTiltRad: 0.0003,
      seatingSlopeRad: 0.0001,
    };
    const surveyed = u(solveTips({ ...layout, surveyed: exact }, lifted, quiet, questions), 'level');
    const unsurveyed = u(solveTips(layout, read, quiet, questions), 'level');
    expect(surveyed.standardUncertaintyMm).toBeLessThan(0.6 * unsurveyed.standardUncertaintyMm);
  });
});

test('a floor that slopes: a spot 30 mm inside the tip reads it, and a survey knows it', () => {
  const slope = 0.01;
  const inward = { ...layout, spotOffset: { outwardMm: -30, leftMm: 0 } };
  // On a plane floor a tip at height H over the plane reads H plus what the floor falls from the tip to the spot.
  const level = readingsRound(1).map((r) => {
    const forward = Math.cos((r.headingDeg * Math.PI) / 180);
    return { ...r, heightMm: 80 + 30 * slope * forward, standardErrorMm: 0.001 };
  });
  const sloping = {
    ...survey(0.001),
    rows: survey(0.001).rows.map((row) => ({ ...row, valueMm: slope * row.places[0].xMm })),
  };
  const rake = (of: ReturnType<typeof solveTips>) => {
    const found = of.measures[1];
    return found.determined ? found.valueMm : NaN;
  };
  // Rear tips less the front one, 60 mm of floor between their spots too few: 0.6 mm.
  expect(rake(solveTips(inward, level, widths, questions))).toBeCloseTo(-0.6, 1);
  const known = solveTips({ ...inward, surveyed: sloping }, level, widths, questions);
  expect(Math.abs(rake(known))).toBeLessThan(0.02);
});
