/** An invented three-spindle machine with a full and a long set of readings, for the bench and the solver's tests. */
import type { Hanging, Layout, MeasureQuestion, TipReading, Widths } from '../../protocol/solver';

export const layout: Layout = {
  spindles: [
    { xMm: 520, yMm: 430, tipRadiusMm: 230 },
    { xMm: 760, yMm: 0, tipRadiusMm: 230 },
    { xMm: 520, yMm: -430, tipRadiusMm: 230 },
  ],
  wheels: [
    { xMm: 0, yMm: 450 },
    { xMm: 0, yMm: -450 },
    { xMm: 1250, yMm: 380 },
    { xMm: 1250, yMm: -380 },
  ],
  groundPlane: 'pivoting front axle',
};

export const widths: Widths = {
  placementMm: 0.25,
  textureMm: 0.3,
  floorMm: 0.5,
  floorLengthMm: 1000,
  offsetMm: 0.2,
  gain: 0.002,
  heightReferenceMm: 60,
  spindleHeightMm: 1,
  spindleTiltRad: 0.004,
  bendMm: 0.7,
  shaftMm: 0.2,
  seatingHeightMm: 0.4,
  seatingSlopeRad: 0.0005,
  headingDeg: 5,
};

export const questions: readonly MeasureQuestion[] = [
  {
    what: 'tips',
    name: 'level',
    terms: [
      { spindle: 0, headingDeg: 90, weight: 1 },
      { spindle: 2, headingDeg: -90, weight: -1 },
    ],
    targetMm: 0,
    lowerMm: -4,
    upperMm: 4,
  },
  {
    what: 'tips',
    name: 'rake',
    terms: [
      { spindle: 0, headingDeg: 180, weight: 0.5 },
      { spindle: 2, headingDeg: 180, weight: 0.5 },
      { spindle: 1, headingDeg: 0, weight: -1 },
    ],
    targetMm: 6,
    lowerMm: 3,
    upperMm: 9,
  },
  {
    what: 'tips',
    name: 'cut height',
    terms: [{ spindle: 1, headingDeg: 0, weight: 1 }],
    targetMm: 75,
    lowerMm: 71,
    upperMm: 79,
  },
  { what: 'bend', name: 'left bend', spindle: 0, targetMm: 0, lowerMm: -3, upperMm: 3 },
  { what: 'bend', name: 'middle bend', spindle: 1, targetMm: 0, lowerMm: -3, upperMm: 3 },
  { what: 'bend', name: 'right bend', spindle: 2, targetMm: 0, lowerMm: -3, upperMm: 3 },
];

/** Readings round every spindle: four headings, both ends, `rounds` captures of each, one clamping for each end and heading. */
export function readingsRound(rounds: number): TipReading[] {
  const readings: TipReading[] = [];
  let placement = 0;
  for (let spindle = 0; spindle < layout.spindles.length; spindle++) {
    for (const headingDeg of [0, 90, 180, -90]) {
      for (const end of [1, -1] as const) {
        placement += 1;
        for (let round = 0; round < rounds; round++) {
          const { xMm, yMm, tipRadiusMm } = layout.spindles[spindle];
          const heading = (headingDeg * Math.PI) / 180;
          const x = xMm + tipRadiusMm * Math.cos(heading);
          const y = yMm + tipRadiusMm * Math.sin(heading);
          const wobble = ((placement * 37 + round * 11) % 19) / 19 - 0.5;
          readings.push({
            spindle,
            headingDeg,
            end,
            refitted: false,
            seating: 1,
            placement,
            heightMm: 80 - 0.008 * x + 0.002 * y + wobble,
            standardErrorMm: 0.02,
          });
        }
      }
    }
  }
  return readings;
}

export const hanging: Hanging = {
  hangers: [
    { xMm: 930, yMm: 300 },
    { xMm: 930, yMm: -300 },
    { xMm: 330, yMm: 340 },
    { xMm: 330, yMm: -340 },
  ],
  centreOfGravity: { xMm: 600, yMm: 12 },
  adjusters: [0, 1, 2, 3].map((hanger) => ({
    moves: [{ hanger, mmPerTurn: 1.5 }],
    ratioUncertainty: 0.1,
    travelTurns: [-8, 8] as const,
  })),
};
