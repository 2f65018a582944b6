/**
 * What a survey is worth, on 360 simulated machines. Bars from solver.md, section 15: U holds the truth on 94 to 97 %
 * (here with the scatter of so few machines), surveyed and not. Full size: npm run prove -- bay.
 */
import { expect, it } from 'vitest';
import { bayCampaign, bayText } from './bay';

it(
  '360 machines: a survey narrows level, stays honest, and a stale one is found out',
  { timeout: 240_000 },
  () => {
    const figures = bayCampaign({
      jobs: 360,
      seed: 1,
      population: { hangerErrorSdMm: 1.5 },
      staleAlikeMm: 600,
    });
    console.log(bayText(figures).join('\n'));
    const [plain, good, stale, tested] = figures.floors;
    if (plain === undefined || good === undefined || stale === undefined || tested === undefined)
      throw new Error();
    expect(good.uMm['level']).toBeLessThan(0.95 * (plain.uMm['level'] ?? 0));
    for (const floor of [plain, good]) {
      for (const share of Object.values(floor.coverage)) {
        expect(share).toBeGreaterThanOrEqual(0.89);
        expect(share).toBeLessThanOrEqual(0.99);
      }
    }
    expect(good.lostSurvey).toBeLessThan(0.03);
    expect(tested.lostSurvey).toBeGreaterThan(0.3);
    expect(tested.coverage['level'] ?? 0).toBeGreaterThan((stale.coverage['level'] ?? 1) + 0.1);
  },
);
