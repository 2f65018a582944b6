import { profileSchema, type MachineProfile } from '../../../host/machines/profile';
import type { FixtureBody } from '../../../host/simulation/world';

/** An invented machine for these tests: three spindles, staggered; four hangers, an adjuster each. */
export const SPECIMEN: MachineProfile = profileSchema.parse({
  format: 'swathplane-machine/1',
  model: 'Specimen 122',
  invented: true,
  family: 'mid-mount hung',
  groundPlane: 'pivoting front axle',
  wheels: [
    { name: 'rear left', xMm: 0, yMm: 400 },
    { name: 'rear right', xMm: 0, yMm: -400 },
    { name: 'front left', xMm: 1300, yMm: 380 },
    { name: 'front right', xMm: 1300, yMm: -380 },
  ],
  bladeKind: 'straight',
  spindles: [spindle('left', 560, 390), spindle('centre', 760, 0), spindle('right', 560, -390)],
  hangers: [
    { name: 'front left', xMm: 900, yMm: 300 },
    { name: 'front right', xMm: 900, yMm: -300 },
    { name: 'rear left', xMm: 300, yMm: 300 },
    { name: 'rear right', xMm: 300, yMm: -300 },
  ],
  centreOfGravity: { xMm: 590, yMm: 15 },
  adjusters: ['front left', 'front right', 'rear left', 'rear right'].map((name) => ({
    name,
    moves: [{ hanger: name, mmPerTurn: 2 }],
    ratioUncertainty: 0.03,
    raises: { rotation: 'clockwise', seenFrom: 'above' },
    travelTurns: [-12, 12],
    stepTurns: 1 / 6,
  })),
  cutHeightMm: 76,
  measures: [
    {
      what: 'tips',
      name: 'level',
      terms: [
        { spindle: 'left', headingDeg: 90, weight: 1 },
        { spindle: 'right', headingDeg: -90, weight: -1 },
      ],
      spanMm: 1220,
      ...limits(0, 3),
    },
    {
      what: 'tips',
      name: 'rake',
      terms: [
        { spindle: 'left', headingDeg: 180, weight: 0.5 },
        { spindle: 'right', headingDeg: 180, weight: 0.5 },
        { spindle: 'centre', headingDeg: 0, weight: -1 },
      ],
      spanMm: 640,
      ...limits(6, 3),
    },
    {
      what: 'tips',
      name: 'cut height',
      terms: [{ spindle: 'centre', headingDeg: 0, weight: 1 }],
      spanMm: 0,
      ...limits(76, 3),
    },
    { what: 'bend', name: 'left bend', spindle: 'left', ...limits(0, 3) },
  ],
  preparation: [],
});

/** An invented fixture: the edge ahead of and below the beam's origin, the beam slightly off straight down. */
export const BODY: FixtureBody = [
  { edgeMm: [-24, 6, -40], beam: tilted(2, -1) },
  { edgeMm: [-24, 6, 2], beam: tilted(1, 1) },
];

function spindle(name: string, xMm: number, yMm: number) {
  return { name, xMm, yMm, tipRadiusMm: 220, rotation: 'clockwise', blockedArcsDeg: [] };
}

function limits(targetMm: number, halfMm: number) {
  return { targetMm, lowerMm: targetMm - halfMm, upperMm: targetMm + halfMm, source: 'shop limit' };
}

function tilted(alongDeg: number, acrossDeg: number): [number, number, number] {
  const x = Math.tan((alongDeg * Math.PI) / 180);
  const y = Math.tan((acrossDeg * Math.PI) / 180);
  const length = Math.sqrt(x * x + y * y + 1);
  return [x / length, y / length, -1 / length];
}
