/** Machines never seen before. The bar on coverage is the issue's; the population is invented. Full size: npm run prove -- unseen. */
import { expect, it } from 'vitest';
import { unseenMachines, unseenText, type UnseenOptions } from './unseen';

function measured(options: UnseenOptions) {
  const figures = unseenMachines(options);
  console.log(unseenText(options, figures));
  return figures;
}

it('180 machines known to 10 mm: U holds the truth', { timeout: 120_000 }, () => {
  const { coverage } = measured({ jobs: 180, seed: 20_000, offMm: 10, saidMm: 10 });
  expect(coverage).toBeGreaterThanOrEqual(0.93);
  expect(coverage).toBeLessThanOrEqual(0.98);
});

it('a machine that is less well known is measured less well, and honestly', { timeout: 120_000 }, () => {
  const well = measured({ jobs: 45, seed: 20_000, offMm: 10, saidMm: 10 });
  const honest = measured({ jobs: 45, seed: 20_000, offMm: 40, saidMm: 40 });
  const claimed = measured({ jobs: 45, seed: 20_000, offMm: 40, saidMm: undefined });
  expect(honest.meanUncertaintyMm).toBeGreaterThan(1.01 * well.meanUncertaintyMm);
  expect(honest.coverage).toBeGreaterThanOrEqual(claimed.coverage);
});
