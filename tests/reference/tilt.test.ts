/** The beam's tilt from gravity, against accelerometer application notes (figures derived; see the file). */
import { describe, expect, test } from 'vitest';
import { zeroOfMotion, type EdgeReading } from '../../host/gauging/calibration/zero';
import { beamTiltCosine, tipHeightMm } from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import tilt from './data/07-accelerometer-tilt.json';

const plumb = { beam: [0, 0, -1], edgeMm: [0, 0, 0] } as const;

test('a beam tilted by 1 degree is longer than the height by the tabled error', () => {
  const { L_mm, tilt_deg, error_mm } = tilt.expected.height_error_of_tilted_beam;
  const side = tilt.expected.sin_1deg_g;
  const gravity = [side, 0, Math.sqrt(1 - side * side)] as const;
  expect(tilt_deg).toBe(1);
  expect(L_mm - tipHeightMm(plumb, L_mm, gravity)).toBeCloseTo(error_mm, 5);
});

test('pitch and roll of the application notes give the same tilt', () => {
  for (const [k, expected] of [tilt.expected.case3, tilt.expected.case4].entries()) {
    const { ax, ay, az } = tilt.data.cases[2 + k];
    const radians = (deg: number) => (deg * Math.PI) / 180;
    // cos^2 of the tilt is 1 - sin^2 pitch - sin^2 roll, both measured against the horizontal.
    const cosine = Math.sqrt(
      1 - Math.sin(radians(expected.pitch_deg)) ** 2 - Math.sin(radians(expected.roll_deg)) ** 2,
    );
    expect(beamTiltCosine(plumb, [ax as number, ay as number, az as number])).toBeCloseTo(cosine, 6);
  }
});

/**
 * Reversal, as for a spirit level (any surveying textbook; from memory): of two readings half a turn apart half the sum is the
 * instrument's zero and half the difference the slope of what it stands on. Slopes are the file's sines of 0.5 and 1 degree.
 */
describe('turning the master on its shelf', () => {
  const slopeUg = [tilt.expected['sin_0.5deg_g'] * 1e6, -tilt.expected.sin_1deg_g * 1e6] as const;
  const zeroUg = [3700, -2100] as const;

  /** What a part with this zero shows when it stands on the slope, turned counter-clockwise seen from above. */
  function seen(turnDeg: number, sameSeat: boolean, seatUg = 0): EdgeReading {
    const turn = (turnDeg * Math.PI) / 180;
    const [x, y] = slopeUg;
    const gravityX = zeroUg[0] + seatUg + x * Math.cos(turn) + y * Math.sin(turn);
    const gravityY = zeroUg[1] - x * Math.sin(turn) + y * Math.cos(turn);
    const gravityZ = Math.sqrt(1e12 - x * x - y * y);
    const target = { kind: 'edge' as const, head: 0 as const, edgeMm: 35, blockMm: 0, turnDeg };
    return {
      step: 1,
      target: { ...target, ...(sameSeat ? { sameSeat } : {}) },
      capture: { gravityX, gravityY, gravityZ } as Body<'captured'>,
    };
  }
  const turned = (seatUg = 0) => [0, 90, 180, 270].map((deg) => seen(deg, deg > 0, seatUg));

  test('gives zero and slope as half the sum and half the difference of opposite readings', () => {
    const [at0, , at180] = turned().map((r) => r.capture);
    const found = zeroOfMotion(turned());
    expect(found.bias[0]).toBe(Math.round((at0.gravityX + at180.gravityX) / 2));
    expect(found.bias[1]).toBe(Math.round((at0.gravityY + at180.gravityY) / 2));
    expect(found.shelfUg[0]).toBeCloseTo((at0.gravityX - at180.gravityX) / 2, 6);
    expect(found.shelfUg[1]).toBeCloseTo((at0.gravityY - at180.gravityY) / 2, 6);
    expect(found.bias.slice(0, 2)).toEqual([...zeroUg]);
    slopeUg.forEach((ug, i) => expect(found.shelfUg[i]).toBeCloseTo(ug, 6));
  });

  test('a seat that leans is no slope: it turns with the fixture', () => {
    const found = zeroOfMotion([...turned(900), ...turned(-900)]);
    expect(found.bias.slice(0, 2)).toEqual([...zeroUg]);
    slopeUg.forEach((ug, i) => expect(found.shelfUg[i]).toBeCloseTo(ug, 6));
  });
});
