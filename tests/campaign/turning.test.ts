/**
 * How soon turning is right, in the simulated physics. Bars are those that the work was ordered with, less what so few
 * machines can show. Full size: npm run prove -- turning.
 */
import { expect, it } from 'vitest';
import { liveCampaign, liveText } from './live-turning';
import { turningCampaign, turningText } from './turning';

it(
  'a new model, its ratios 10 % off: three in four after one round, all but all after two',
  { timeout: 120_000 },
  () => {
    const figures = turningCampaign({ jobs: 54, seed: 11, ratioSd: 0.1, pastJobs: 0 });
    console.log(turningText('new model', figures).join('\n'));
    expect(figures.insideAfterOneRound / figures.turned).toBeGreaterThanOrEqual(0.75);
    expect(figures.insideAfterTwoRounds / figures.turned).toBeGreaterThanOrEqual(0.96);
    expect(figures.askedInVain / figures.rounds).toBeLessThanOrEqual(0.03);
  },
);

it('the same after jobs on other machines of the model: one round', { timeout: 120_000 }, () => {
  const figures = turningCampaign({ jobs: 54, seed: 12, ratioSd: 0.1, pastJobs: 12 });
  console.log(turningText('learned', figures).join('\n'));
  expect(figures.ratioError).toBeLessThan(0.06);
  expect(figures.insideAfterOneRound / figures.turned).toBeGreaterThanOrEqual(0.95);
  expect(figures.insideAfterTwoRounds).toBe(figures.turned);
});

it('live, ratios 25 % off, a deck that sticks: one round', { timeout: 120_000 }, () => {
  const figures = liveCampaign({ jobs: 162, seed: 13, ratioSd: 0.25, frictionMm: 0.4 });
  console.log(liveText('live', figures).join('\n'));
  // The bar is 98 %; two and a half standard errors of 162 machines are 2.7 %.
  expect(figures.insideAfterOneRound / figures.turned).toBeGreaterThanOrEqual(0.953);
});
