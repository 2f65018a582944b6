/**
 * Cases for every function that `protocol/solver/index.ts` exports. The suite fails while one is missing.
 *
 * None has a tolerance: the solver takes its sines, exponentials and logarithms from its own sums and products, so that
 * all of it agrees to the bit.
 */
import { absorb, noInformation, priorInformation, solve, solveTips } from '../../../protocol/solver';
import type { Information, MeasureQuestion, Rows } from '../../../protocol/solver';
import type { Random } from '../../../host/simulation/random';
import * as example from '../../bench/example';
import type { Plain } from '../lua';
import { anyNumber, integerBetween, listOf, pick, tameNumber } from '../numbers';
import type { CasesByName } from './cases';
import { DISTRIBUTION_CASES } from './distributions';
import { SEQUENCE_CASES } from './sequence';

export const SOLVER_CASES: CasesByName = {
  ...DISTRIBUTION_CASES,
  tipHeightMm: { generate: (random) => [shape(random), anyNumber(random), vector(random)] },
  beamTiltCosine: { generate: (random) => [shape(random), vector(random)] },
  linearise: { generate: (random) => [knots(random), tameNumber(random) * 100_000] },
  beamOf: { generate: (random) => [calibration(random)] },
  upward: { generate: (random) => [calibration(random), reading(random)] },
  captureHeightUm: { generate: (random) => [calibration(random), reading(random)], count: 1000 },

  noInformation: { generate: (random) => [integerBetween(random, 0, 6)], count: 20 },
  priorInformation: {
    generate: (random) => {
      const size = integerBetween(random, 0, 6);
      return [
        listOf(size, () => anyNumber(random)),
        listOf(size, () => pick(random, [Infinity, 1, 2, random.between(1e-3, 1e3)])),
      ];
    },
  },
  absorb: {
    generate: (random) => {
      const { known, rows } = problem(random);
      return plain([known, rows]);
    },
  },
  solve: { generate: (random) => plain([information(random)]) },
  mean: { generate: (random) => plain([solve(information(random))]) },
  functional: {
    generate: (random) => {
      const estimate = solve(information(random));
      return plain([estimate, listOf(estimate.size, () => tameNumber(random))]);
    },
  },
  predictiveResidual: {
    generate: (random) => {
      const estimate = solve(information(random));
      return plain([estimate, listOf(estimate.size, () => tameNumber(random)), anyNumber(random)]);
    },
  },
  covariance: {
    generate: (random) => {
      const length = integerBetween(random, 0, 8);
      return [listOf(length, () => anyNumber(random)), listOf(length, () => anyNumber(random))];
    },
  },

  probabilityOutside: {
    generate: (random) => [
      anyNumber(random),
      Math.abs(anyNumber(random)),
      { lowerMm: anyNumber(random), upperMm: anyNumber(random) },
      ...(random.chance(0.5) ? [integerBetween(random, 1, 40)] : []),
    ],
  },
  adjustLevels: { generate: (random) => plain([levels(random)]), count: 60 },
  surveyedFloor: {
    generate: (random) => {
      const place = () => {
        const spot = { xMm: tameNumber(random), yMm: tameNumber(random) };
        return { ...spot, spot };
      };
      const asked = listOf(integerBetween(random, 0, 4), place);
      return plain([layout(random), survey(random), asked, random.between(0.1, 2), 1500]);
    },
    count: 60,
  },
  floorSums: {
    generate: (random) => {
      const known = survey(random);
      const place = () => ({
        xMm: tameNumber(random),
        yMm: tameNumber(random),
        weight: tameNumber(random) / 100,
      });
      const sums = listOf(integerBetween(random, 0, 3), () => listOf(integerBetween(random, 1, 4), place));
      return plain([known, sums, random.between(0.1, 2), integerBetween(random, 400, 2000)]);
    },
    count: 60,
  },
  groundWeights: { generate: (random) => plain([layout(random)]) },
  solveTips: {
    generate: (random) => {
      const machine = layout(random);
      return plain([machine, readings(random, machine), widths(random), questions(machine)]);
    },
    count: 60,
  },
  explainFaults: {
    generate: (random) => {
      const machine = layout(random);
      const asked = questions(machine);
      const read = readings(random, machine);
      const pose = solveTips(machine, read, widths(random), asked).pose;
      return plain([machine, read, widths(random), asked, { pose }]);
    },
    count: 60,
  },
  judge: {
    generate: (random) => {
      const asked = example.questions;
      const measures = asked.map(({ name }) =>
        random.chance(0.9)
          ? {
              name,
              determined: true,
              valueMm: tameNumber(random) / 50,
              standardUncertaintyMm: random.uniform(),
            }
          : { name, determined: false },
      );
      return plain([{ measures }, asked, ...(random.chance(0.3) ? [integerBetween(random, 1, 40)] : [])]);
    },
  },
  restDeck: {
    generate: (random) => {
      const count = integerBetween(random, 3, 6);
      const point = () => ({ xMm: tameNumber(random), yMm: tameNumber(random) });
      const kinds = ['hangs', 'stands', 'holds'] as const;
      const support = () => ({ ...point(), ...(random.chance(0.5) ? { kind: pick(random, kinds) } : {}) });
      return [listOf(count, support), listOf(count, () => tameNumber(random) / 50), point()];
    },
    count: 500,
  },
  whatToTurn: {
    generate: (random) => {
      const read = readings(random, example.layout);
      const { measures } = solveTips(example.layout, read, widths(random), example.questions);
      const adjusters = example.hanging.adjusters.map((adjuster) => ({
        ...adjuster,
        travelTurns: [-integerBetween(random, 0, 6), random.between(0, 6)],
      }));
      const carrying = listOf(4, () => random.chance(0.8));
      const solution = { layout: example.layout, measures };
      return plain([solution, { ...example.hanging, adjusters }, example.questions, carrying]);
    },
    count: 40,
  },
  learnGains: {
    generate: (random) => plain([example.hanging, listOf(integerBetween(random, 0, 6), () => round(random))]),
    count: 30,
  },
  withGains: {
    generate: (random) => {
      const gain = () => ({ factor: random.between(0.5, 1.5), standardUncertainty: random.uniform() });
      return plain([example.hanging, listOf(4, gain)]);
    },
    count: 20,
  },
  explainRound: { generate: (random) => plain([example.hanging, round(random)]), count: 60 },
  liveSteps: {
    generate: (random) => {
      const tips = [0, 1, 2].flatMap((spindle) =>
        [0, 90, 180, -90].map((headingDeg) => ({ spindle, headingDeg })),
      );
      const turns = listOf(4, () => pick(random, [0, random.normal(2), integerBetween(random, -3, 3)]));
      return plain([example.layout, example.hanging, turns, tips]);
    },
    count: 60,
  },
  liveState: {
    generate: (random) => {
      const step = {
        what: 'watch',
        adjuster: 0,
        turns: integerBetween(random, 1, 3),
        tip: { spindle: 0, headingDeg: 90 },
        changeMm: tameNumber(random) / 100,
        mmPerTurn: pick(random, [1, -1]) * random.between(0.5, 2),
      };
      const made = random.chance(0.7) ? [integerBetween(random, -8, 8) / 4] : [];
      return plain([step, integerBetween(random, 60, 90), 75 + tameNumber(random) / 50, ...made]);
    },
  },
  turnInSteps: {
    generate: (random) => {
      const measures = example.questions.map(({ name, targetMm }) => ({
        name,
        determined: true,
        valueMm: targetMm + random.normal(3),
        standardUncertaintyMm: random.between(0, 1),
      }));
      const adjusters = example.hanging.adjusters.map((adjuster) => ({
        ...adjuster,
        travelTurns: [-integerBetween(random, 0, 6), random.between(0, 6)],
      }));
      const carrying = listOf(4, () => random.chance(0.8));
      const steps = listOf(4, () => pick(random, [1 / 6, 0.5, 1]));
      const solution = { layout: example.layout, measures };
      return plain([solution, { ...example.hanging, adjusters }, example.questions, carrying, steps]);
    },
    count: 12,
  },
  ...SEQUENCE_CASES,
};

/** The same values, typed as the harness takes them. */
function plain(values: readonly unknown[]): Plain[] {
  return structuredClone(values) as Plain[];
}

function vector(random: Random): number[] {
  return listOf(3, () => anyNumber(random));
}

function shape(random: Random) {
  return { beam: vector(random), edgeMm: vector(random) };
}

function knots(random: Random): number[] {
  const list: number[] = [];
  let counts = integerBetween(random, -8_000_000, 0);
  for (let pair = integerBetween(random, 0, 16); pair > 0; pair--) {
    list.push(counts, integerBetween(random, 60_000, 140_000));
    counts += integerBetween(random, 1, 2_000_000);
  }
  return list;
}

function calibration(random: Random) {
  return {
    beamX: integerBetween(random, -300_000_000, 300_000_000),
    beamY: integerBetween(random, -300_000_000, 300_000_000),
    beamZ: integerBetween(random, -1_000_000_000, -900_000_000),
    edgeX: integerBetween(random, -(2 ** 31), 2 ** 31 - 1),
    edgeY: integerBetween(random, -50_000, 50_000),
    edgeZ: integerBetween(random, -50_000, 50_000),
    gravityBiasX: integerBetween(random, -90_000, 90_000),
    gravityBiasY: integerBetween(random, -90_000, 90_000),
    gravityBiasZ: integerBetween(random, -90_000, 90_000),
    temperatureReference: integerBetween(random, -1000, 4000),
    temperatureGain: integerBetween(random, -2_000_000, 2_000_000),
    knots: knots(random),
  };
}

function reading(random: Random) {
  return {
    countsMean: integerBetween(random, -8_388_608, 8_388_607),
    gravityX: integerBetween(random, -(2 ** 31), 2 ** 31 - 1),
    gravityY: integerBetween(random, -300_000, 300_000),
    gravityZ: integerBetween(random, 0, 1_000_000),
    temperature: integerBetween(random, -2000, 6000),
  };
}

function problem(random: Random): { known: Information; rows: Rows } {
  const size = integerBetween(random, 0, 6);
  const count = integerBetween(random, 0, 9);
  const deviations = listOf(size, () => pick(random, [Infinity, 1, random.between(0.01, 100)]));
  const columns = listOf(size, () => listOf(count, () => tameNumber(random)));
  // A column twice over is a direction about which nothing is known.
  if (size > 1 && random.chance(0.2)) columns[1] = [...columns[0]];
  const known = random.chance(0.3)
    ? noInformation(size)
    : priorInformation(
        listOf(size, () => tameNumber(random)),
        deviations,
      );
  return {
    known,
    rows: { columns, observed: listOf(count, () => tameNumber(random)), logScale: random.normal(3) },
  };
}

function information(random: Random): Information {
  const { known, rows } = problem(random);
  return absorb(known, rows);
}

function levels(random: Random) {
  const points = integerBetween(random, 1, 6);
  const point = () => integerBetween(random, 0, points - 1);
  const sure = () => ({ standardUncertaintyMm: pick(random, [1, random.between(0.05, 2)]) });
  return {
    points,
    ...(random.chance(0.3) ? { held: [{ point: point(), heightMm: tameNumber(random) }] } : {}),
    staff: listOf(integerBetween(random, 0, 10), () => ({
      setUp: integerBetween(random, 1, 3),
      point: point(),
      readingMm: tameNumber(random),
      ...sure(),
    })),
    steps: listOf(integerBetween(random, 0, 6), () => ({
      from: point(),
      to: point(),
      riseMm: tameNumber(random),
      ...sure(),
    })),
  };
}

function survey(random: Random) {
  const place = () => ({ xMm: 10 * tameNumber(random), yMm: 10 * tameNumber(random), weight: 1 });
  const count = integerBetween(random, 0, 8);
  return {
    rows: listOf(count, () => ({ places: [place()], valueMm: tameNumber(random) / 50 })),
    covariance: Array.from({ length: count }, (_, i) => [...listOf(i, () => 0.01), 0.04]),
    ...(random.chance(0.3) ? { slopeSd: 0.002 } : {}),
    parking: { xMm: 100, yMm: -50, headingDeg: 180, xSdMm: 20, ySdMm: 20, headingSdDeg: 1 },
  };
}

function round(random: Random) {
  return {
    machine: integerBetween(random, 0, 2),
    turns: listOf(4, () => pick(random, [0, integerBetween(random, -12, 12) / 6])),
    carrying: listOf(4, () => random.chance(0.8)),
    change: [random.normal(3), random.normal(0.004), random.normal(0.004)],
    covariance: [0.09, 1e-5, 0, 1e-5, 1e-7, 0, 0, 0, 1e-7],
  };
}

function layout(random: Random) {
  const at = () => ({ xMm: tameNumber(random), yMm: tameNumber(random) });
  const groundPlane = pick(random, ['pivoting front axle', 'rigid four wheels', 'three wheels'] as const);
  return {
    spindles: listOf(integerBetween(random, 1, 5), () => ({
      ...at(),
      tipRadiusMm: integerBetween(random, 180, 300),
    })),
    wheels: listOf(groundPlane === 'three wheels' ? 3 : 4, () => ({
      ...at(),
      ...(random.chance(0.8) ? { loadShare: random.between(0.1, 0.4) } : {}),
    })),
    groundPlane,
    ...(random.chance(0.4) ? { surveyed: survey(random) } : {}),
    ...(random.chance(0.4) ? { spotOffset: { outwardMm: random.normal(30), leftMm: random.normal(5) } } : {}),
    ...(random.chance(0.3)
      ? {
          uncertaintyMm: {
            spindleMm: 10,
            tipRadiusMm: integerBetween(random, 0, 12),
            wheelMm: random.between(0, 15),
          },
        }
      : {}),
  };
}

function readings(random: Random, machine: { spindles: readonly unknown[] }) {
  return listOf(integerBetween(random, 0, 14), () => ({
    spindle: integerBetween(random, 0, machine.spindles.length - 1),
    headingDeg: pick(random, [0, 90, 180, -90, random.between(-180, 180)]),
    end: pick(random, [1, -1] as const),
    refitted: random.chance(0.2),
    seating: integerBetween(random, 1, 2),
    placement: integerBetween(random, 1, 8),
    heightMm: 75 + tameNumber(random) / 100,
    standardErrorMm: random.between(0.01, 0.05),
    ...(random.chance(0.2) ? { spot: { xMm: tameNumber(random), yMm: tameNumber(random) } } : {}),
  }));
}

function widths(random: Random) {
  const heightReferenceMm = integerBetween(random, 40, 90);
  return {
    ...example.widths,
    ...(random.chance(0.3) ? { floorSlopeRad: 0.003 } : {}),
    headingDeg: pick(random, [0, 2, 5]),
    heightReferenceMm,
  };
}

function questions(machine: { spindles: readonly unknown[] }): MeasureQuestion[] {
  const limits = { targetMm: 0, lowerMm: -4, upperMm: 4 };
  const last = machine.spindles.length - 1;
  return [
    {
      what: 'tips',
      name: 'level',
      terms: [
        { spindle: 0, headingDeg: 90, weight: 1 },
        { spindle: last, headingDeg: -90, weight: -1 },
      ],
      ...limits,
    },
    { what: 'bend', name: 'bend', spindle: last, ...limits },
  ];
}
