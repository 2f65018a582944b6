/**
 * How far a real floor is alike, from levels that were published: method of ASTM E1155, data of the SLAC Alignment Group's
 * floor survey sheets (see the file). The solver's own covariance and evidence are asked.
 */
import { expect, test } from 'vitest';
import { absorb, noInformation, solve } from '../../protocol/solver';
import { alike } from '../../protocol/solver/ground';
import { cholesky, logWhitening, whiten } from '../../protocol/solver/whiten';
import { ASSUMED_WIDTHS } from '../../host/gauging/widths';
import slab from './data/05-e1155-slac-floor.json';

const SPACING_MM = 304.8;
const lines = Object.values(slab.data.elevation_mm);

test('second differences as printed', () => {
  for (const [name, levels] of Object.entries(slab.data.elevation_mm)) {
    const printed = slab.expected.q_mm_printed[name as '0'];
    levels.slice(2).forEach((h, i) => {
      const q = h - 2 * levels[i + 1] + levels[i];
      expect(Math.abs(q - printed[i])).toBeLessThan(slab.expected.q_tolerance);
    });
  }
});

/** Logarithm of how likely the levels are: each line a slope of its own, unevenness alike over a length, and roughness. */
function evidence(sdMm: number, lengthMm: number, roughMm: number): number {
  return lines.reduce((sum, levels) => {
    const places = levels.map((_, i) => ({ xMm: SPACING_MM * i, yMm: 0 }));
    const covariance = places.map((a, i) =>
      places.slice(0, i + 1).map((b, j) => sdMm ** 2 * alike(a, b, lengthMm) + (i === j ? roughMm ** 2 : 0)),
    );
    const lower = cholesky(covariance);
    if (lower === undefined) return -Infinity;
    const columns = [places.map(() => 1), places.map((p) => p.xMm / 1000)].map((c) => whiten(lower, c, 0));
    const rows = { columns, observed: whiten(lower, levels, 0), logScale: logWhitening(lower) };
    return sum + solve(absorb(noInformation(2), rows)).logEvidence;
  }, 0);
}

/** The best that a length can do, whatever the floor's unevenness and roughness. */
function best(lengthMm: number): number {
  const sds = [0.5, 0.7, 1, 1.4, 2, 2.8, 4, 5.6, 8];
  const roughs = [0.1, 0.2, 0.4, 0.6, 0.8, 1.1];
  return Math.max(...sds.flatMap((sd) => roughs.map((rough) => evidence(sd, lengthMm, rough))));
}

test('the unevenness that is assumed is that of its flattest line about its own slope: the others have up to 2.8 mm', () => {
  const deviations = lines.map((levels) => {
    const columns = [levels.map(() => 1), levels.map((_, i) => i)];
    const fit = solve(absorb(noInformation(2), { columns, observed: levels, logScale: 0 }));
    return Math.sqrt(fit.sumOfSquares / fit.degreesOfFreedom);
  });
  expect(Math.abs(Math.min(...deviations) - ASSUMED_WIDTHS.floorMm.value)).toBeLessThan(0.05);
  expect(Math.max(...deviations)).toBeCloseTo(2.8, 1);
});

test('the length that is assumed is the likeliest of its neighbours, and far likelier than half a metre or less', () => {
  const assumed = best(ASSUMED_WIDTHS.floorLengthMm.value);
  for (const lengthMm of [500, 700, 1400, 2000]) expect(best(lengthMm)).toBeLessThan(assumed);
  expect(best(500)).toBeLessThan(assumed - 3);
});
