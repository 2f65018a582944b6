/** The beam's tilt from gravity, against accelerometer application notes (figures derived; see the file). */
import { expect, test } from 'vitest';
import { beamTiltCosine, tipHeightMm } from '../../protocol/solver';
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
