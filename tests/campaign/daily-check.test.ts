/** The daily check, reduced. Full size: npm run prove -- daily-check. */
import { expect, it } from 'vitest';
import { dailyCheckCampaign, dailyCheckText } from './daily-check';

it('100 fixtures: a drift of 0.2 mm is seen within three days, a good fixture is seldom stopped', () => {
  const figures = dailyCheckCampaign({ runs: 100, seed: 2, driftMm: 0.2, seatSdMm: 0.02 });
  for (const line of dailyCheckText(figures)) console.log(line);
  expect(figures.caughtShare[2]).toBeGreaterThanOrEqual(0.95);
  expect(figures.falseAlarms[50]).toBeLessThanOrEqual(1);
});

it('without a drift to see, nothing is "caught" by chance', () => {
  const { caughtShare } = dailyCheckCampaign({ runs: 60, seed: 3, driftMm: 0, seatSdMm: 0.02 });
  expect(caughtShare[2]).toBeLessThan(0.1);
});
