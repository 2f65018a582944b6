/**
 * The figures of the levelling job on 500 simulated machines. Expectations are the bars that the work was ordered with;
 * the population is invented. Full size: npm run prove -- levelling.
 */
import { expect, it } from 'vitest';
import { campaignText, levellingCampaign } from './levelling';

it('500 jobs: U covers the truth, one round is enough, a pass is a pass', { timeout: 240_000 }, () => {
  const figures = levellingCampaign({ jobs: 500, seed: 1, ratioSd: 0.03 });
  console.log(campaignText(figures, 0.03).join('\n'));
  for (const share of Object.values(figures.coverage)) {
    expect(share).toBeGreaterThanOrEqual(0.93);
    expect(share).toBeLessThanOrEqual(0.98);
  }
  expect(figures.insideAfterOneRound / figures.turned).toBeGreaterThanOrEqual(0.95);
  expect(figures.falselyPassed / figures.passed).toBeLessThanOrEqual(0.005);
  expect(figures.passed).toBeGreaterThan(0.8 * figures.jobs);
});
