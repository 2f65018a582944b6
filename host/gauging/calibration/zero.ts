/** The zero of the motion part, by turning the height master with the fixture on it. */
import { numberedError } from '../../errors/errors';
import type { SessionReading } from '../session';
import { leastSquares } from '../statistics/fit';
import { meanOf } from '../statistics/spread';
import type { EdgeStep } from './plan';

export type EdgeReading = SessionReading & { readonly target: EdgeStep };

export interface Zero {
  readonly bias: readonly [number, number, number];
  /** What the shelf's slope adds to gravity across, ug, when the master stands as it usually does. */
  readonly shelfUg: readonly [number, number];
}

/**
 * Zero of the motion part and slope of the shelf. The slope turns with the master while the fixture stays seated; the zero is
 * what is left in the mean of all seatings. The fixture's own level is thus that of a lip parallel to the plate. Upright the
 * part is taken to show 1 g.
 */
export function zeroOfMotion(readings: readonly EdgeReading[]): Zero {
  const turned = turnedSeats(readings);
  const seats = [...new Set(turned.map((t) => t.seat))];
  const rows = (across: (cos: number, sin: number) => [number, number]) =>
    turned.map(({ seat, reading }) => {
      const turn = (reading.target.turnDeg * Math.PI) / 180;
      return [...seats.map((s) => (s === seat ? 1 : 0)), ...across(Math.cos(turn), Math.sin(turn))];
    });
  const x = leastSquares(
    rows((cos, sin) => [cos, sin]),
    turned.map((t) => t.reading.capture.gravityX),
  );
  const y = leastSquares(
    rows((cos, sin) => [cos, -sin]),
    turned.map((t) => t.reading.capture.gravityY),
  );
  if (x === undefined || y === undefined)
    throw numberedError('calibration not good enough', 'the master was not turned on its shelf');
  const shelfUg = [x.coefficients[seats.length], y.coefficients[seats.length]] as const;
  const upright = readings.filter((r) => r.target.turnDeg === 0).map((r) => r.capture);
  const bx = meanOf(upright.map((c) => c.gravityX)) - shelfUg[0];
  const by = meanOf(upright.map((c) => c.gravityY)) - shelfUg[1];
  const z = meanOf(
    upright.map((c) => c.gravityZ - Math.sqrt(1e12 - (c.gravityX - bx) ** 2 - (c.gravityY - by) ** 2)),
  );
  return { bias: [Math.round(bx), Math.round(by), Math.round(z)], shelfUg };
}

/** Readings of seatings that were turned, with a number for each seating. */
function turnedSeats(readings: readonly EdgeReading[]): { seat: number; reading: EdgeReading }[] {
  let seat = 0;
  const seated = readings.map((reading) => {
    if (reading.target.sameSeat !== true) seat += 1;
    return { seat, reading };
  });
  const turned = new Set(seated.filter((s) => s.reading.target.sameSeat).map((s) => s.seat));
  return seated.filter((s) => turned.has(s.seat));
}
