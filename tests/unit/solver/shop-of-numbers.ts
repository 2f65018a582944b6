/**
 * Draws readings from the physical story behind the tip model, written without the solver's rows: an uneven floor with
 * wheels standing on it, a deck with spindles, shafts and blades, a technician, a fixture. Shares no code with the solver.
 */
import type { Random } from '../../../host/simulation/random';
import type { Layout, TipReading, Widths } from '../../../protocol/solver';

export interface Ask {
  readonly spindle: number;
  readonly headingDeg: number;
  readonly end: 1 | -1;
  readonly seating: number;
  readonly placement: number;
  readonly refitted?: boolean;
}

export interface Truth {
  /** Mean height of both blade ends above the wheel plane, over all seatings. */
  tipMm(spindle: number, headingDeg: number): number;
  /** End A above end B as first fitted, and once refitted. */
  bendMm(spindle: number, refitted: boolean): number;
  /** Deck plane without its spindles' faults. */
  readonly z0Mm: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

export function drawJob(
  random: Random,
  layout: Layout,
  widths: Widths,
  asks: readonly Ask[],
  standardErrorMm: number,
): { truth: Truth; readings: TipReading[] } {
  const floor = drawFloor(random, widths.floorMm, widths.floorLengthMm);
  const ground = wheelPlane(layout, floor);
  const z0Mm = random.between(70, 90);
  const slopeX = random.normal(0.008);
  const slopeY = random.normal(0.008);
  const middleX = layout.spindles.reduce((sum, s) => sum + s.xMm, 0) / layout.spindles.length;
  const middleY = layout.spindles.reduce((sum, s) => sum + s.yMm, 0) / layout.spindles.length;
  const spindles = layout.spindles.map(() => ({
    heightMm: random.normal(widths.spindleHeightMm),
    tiltX: random.normal(widths.spindleTiltRad),
    tiltY: random.normal(widths.spindleTiltRad),
    bladeMm: random.normal(widths.bendMm),
    shaftMm: random.normal(widths.shaftMm),
  }));

  const circleMm = (k: number, radians: number) => {
    const { xMm, yMm, tipRadiusMm } = layout.spindles[k];
    const dx = tipRadiusMm * Math.cos(radians);
    const dy = tipRadiusMm * Math.sin(radians);
    const deck = z0Mm + slopeX * (xMm + dx) + slopeY * (yMm + dy);
    return deck + spindles[k].heightMm + spindles[k].tiltX * dx + spindles[k].tiltY * dy;
  };

  const seatings = once(() => ({
    heightMm: random.normal(widths.seatingHeightMm),
    slopeX: random.normal(widths.seatingSlopeRad),
    slopeY: random.normal(widths.seatingSlopeRad),
  }));
  const clampings = once(() => random.normal(widths.placementMm));
  const settings = once(() => random.normal(widths.headingDeg));
  const textures = once(() => random.normal(widths.textureMm));
  const offset = random.normal(widths.offsetMm);
  const gain = random.normal(widths.gain);

  const readings = asks.map((ask): TipReading => {
    const { spindle, headingDeg, end, seating, placement, refitted = false } = ask;
    const { xMm, yMm, tipRadiusMm } = layout.spindles[spindle];
    // Pointed once, captured as often as asked: the heading and the grain of the floor under the spot stay the same.
    const pointed = `${placement} ${spindle} ${headingDeg} ${end} ${seating}`;
    const error = settings(pointed);
    const radians = ((headingDeg + error) * Math.PI) / 180;
    const x = xMm + tipRadiusMm * Math.cos(radians);
    const y = yMm + tipRadiusMm * Math.sin(radians);
    const { bladeMm, shaftMm } = spindles[spindle];
    const seat = seatings(`${seating}`);
    const heightMm =
      circleMm(spindle, radians) +
      end * (bladeMm + (refitted ? -shaftMm : shaftMm)) +
      seat.heightMm +
      seat.slopeX * (x - middleX) +
      seat.slopeY * (y - middleY);
    // The tip is that high over the wheel plane; the fixture sees the floor under it.
    const overFloor =
      heightMm +
      ground(x, y) -
      floor(x, y) +
      clampings(`${placement}`) +
      textures(pointed) +
      random.normal(standardErrorMm);
    const shown = (overFloor + offset + gain * widths.heightReferenceMm) / (1 + gain);
    return {
      spindle,
      headingDeg,
      end,
      refitted,
      seating,
      placement,
      heightMm: Math.round(shown * 1000) / 1000,
      standardErrorMm,
    };
  });
  const truth: Truth = {
    tipMm: (k, headingDeg) => circleMm(k, (headingDeg * Math.PI) / 180),
    bendMm: (k, refitted) => 2 * (spindles[k].bladeMm + (refitted ? -1 : 1) * spindles[k].shaftMm),
    z0Mm,
    slopeX,
    slopeY,
  };
  return { truth, readings };
}

/** A value drawn at first asking and the same ever after. */
function once<T>(draw: () => T): (key: string) => T {
  const drawn = new Map<string, T>();
  return (key) => {
    const known = drawn.get(key);
    if (known !== undefined) return known;
    const value = draw();
    drawn.set(key, value);
    return value;
  };
}

/** Many plane waves of normal wave number: a smooth random floor whose covariance is a squared exponential. */
function drawFloor(random: Random, sdMm: number, lengthMm: number): (x: number, y: number) => number {
  const waves = Array.from({ length: 25 }, () => ({
    kx: random.normal(1 / lengthMm),
    ky: random.normal(1 / lengthMm),
    phase: random.between(0, 2 * Math.PI),
  }));
  const size = sdMm * Math.sqrt(2 / waves.length);
  return (x, y) => waves.reduce((sum, w) => sum + size * Math.cos(w.kx * x + w.ky * y + w.phase), 0);
}

/** The plane of a machine with a pivoting front axle (wheels: two rear, two front) or on three wheels. */
function wheelPlane(
  layout: Layout,
  floor: (x: number, y: number) => number,
): (x: number, y: number) => number {
  const points = layout.wheels.map(({ xMm, yMm }) => [xMm, yMm, floor(xMm, yMm)]);
  const [a, b] = points;
  const c = points.length === 3 ? points[2] : points[2].map((value, i) => (value + points[3][i]) / 2);
  const u = b.map((value, i) => value - a[i]);
  const v = c.map((value, i) => value - a[i]);
  const normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
  return (x, y) => a[2] - (normal[0] * (x - a[0]) + normal[1] * (y - a[1])) / normal[2];
}
