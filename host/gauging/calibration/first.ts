/** What a head position is taken for before it was ever calibrated: its drawing, and the data sheet of its sensor. */
import type { Body } from '../../../protocol/wire/messages';

type Calibration = Body<'calibration'>;

/** Volts at the converter's input with the target at the near and at the far end of the laser's span. */
export type SensorVolts = readonly [near: number, far: number];

/** hardware-notes/head-and-clamp.md: the spot 12 mm in front of the edge, holes for the pin 40 mm apart. */
const EDGES_UM = [
  [0, -12_000, -40_000],
  [0, -12_000, 0],
] as const;
/** The laser's span (65 to 135 mm class), and so much more that an output a little off its data sheet is still in range. */
const SPAN_MM = [65, 135] as const;
const BEYOND = 0.03;
/** Converter: 32768 counts for 4.096 V; the wire counts in 1/256. */
const WIRE_COUNTS_PER_V = (32768 / 4.096) * 256;
/** Day of a calibration that nobody has made yet. */
const NEVER = 0;

/** Good enough to climb the ladder of a calibration with, and for nothing else. */
export function asDrawn(headPosition: 0 | 1, [near, far]: SensorVolts): Calibration {
  const [edgeX, edgeY, edgeZ] = EDGES_UM[headPosition];
  const at = (share: number) => [
    Math.round((near + share * (far - near)) * WIRE_COUNTS_PER_V),
    Math.round((SPAN_MM[0] + share * (SPAN_MM[1] - SPAN_MM[0])) * 1000),
  ];
  const ends = [-BEYOND, 0.5, 1 + BEYOND];
  return {
    headPosition,
    version: 0,
    setOnDay: NEVER,
    ...{ beamX: 0, beamY: 0, beamZ: -1e9, edgeX, edgeY, edgeZ },
    ...{ gravityBiasX: 0, gravityBiasY: 0, gravityBiasZ: 0, temperatureReference: 2000, temperatureGain: 0 },
    knots: (near < far ? ends : ends.reverse()).flatMap(at),
  };
}

/** Nobody has calibrated this yet: nothing that is read with it decides anything. */
export function isUncalibrated({ setOnDay }: Calibration): boolean {
  return setOnDay === NEVER;
}

/** Beam and edge are those of the drawing: no calibration on the height master measures them. */
export function hasDrawnGeometry(c: Calibration): boolean {
  return c.beamX === 0 && c.beamY === 0 && c.edgeX === EDGES_UM[0][0] && c.edgeY === EDGES_UM[0][1];
}
